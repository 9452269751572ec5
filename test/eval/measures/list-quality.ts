/** One row of a list that somebody would work through from the top. */
export interface Listed {
  /** Null: the list does not name it; it comes after all others. */
  score: number | null;
  positive: boolean;
}

/** Rows of equal score form one step: whoever works through the list meets them in no particular order. */
function steps(rows: readonly Listed[]): { rows: number; hits: number }[] {
  const groups = Map.groupBy(rows, ({ score }) => score ?? Number.NEGATIVE_INFINITY);
  return [...groups]
    .sort(([a], [b]) => b - a)
    .map(([, group]) => ({ rows: group.length, hits: group.filter(({ positive }) => positive).length }));
}

/**
 * Average precision: sum over steps of (recall gained x precision at the step), equal scores being one step, so that the
 * order of equals neither helps nor harms. Null without a positive. (Usual definition of information retrieval.)
 */
export function averagePrecision(rows: readonly Listed[]): number | null {
  const positives = rows.filter(({ positive }) => positive).length;
  if (positives === 0) return null;
  let seen = 0;
  let found = 0;
  let sum = 0;
  for (const step of steps(rows)) {
    seen += step.rows;
    found += step.hits;
    sum += (step.hits / positives) * (found / seen);
  }
  return sum;
}

/** Expected hits among the first `count`, equals in random order. */
export function hitsAt(rows: readonly Listed[], count: number): number {
  let left = count;
  let hits = 0;
  for (const step of steps(rows)) {
    const taken = Math.min(left, step.rows);
    hits += (step.hits * taken) / step.rows;
    left -= taken;
    if (left === 0) break;
  }
  return hits;
}
