/** A stretch of time [fromMs, toMs], epoch ms. */
export interface Interval {
  fromMs: number;
  toMs: number;
}

/** The same time as sorted stretches that do not touch; empty ones are left out. */
export function joinedTime(intervals: readonly Interval[]): Interval[] {
  const sorted = intervals.filter((one) => one.toMs > one.fromMs).sort((a, b) => a.fromMs - b.fromMs);
  const result: Interval[] = [];
  for (const next of sorted) {
    const last = result.at(-1);
    if (last && next.fromMs <= last.toMs) last.toMs = Math.max(last.toMs, next.toMs);
    else result.push({ ...next });
  }
  return result;
}

/** What is in both. */
export function commonTime(some: readonly Interval[], others: readonly Interval[]): Interval[] {
  const right = joinedTime(others);
  return joinedTime(some).flatMap((one) =>
    right.flatMap((other) => {
      const fromMs = Math.max(one.fromMs, other.fromMs);
      const toMs = Math.min(one.toMs, other.toMs);
      return toMs > fromMs ? [{ fromMs, toMs }] : [];
    }),
  );
}

/** What of `some` is in none of `taken`. */
export function timeWithout(some: readonly Interval[], taken: readonly Interval[]): Interval[] {
  let left = joinedTime(some);
  for (const { fromMs, toMs } of joinedTime(taken))
    left = left.flatMap((one) =>
      toMs <= one.fromMs || fromMs >= one.toMs
        ? [one]
        : [
            { fromMs: one.fromMs, toMs: Math.min(one.toMs, fromMs) },
            { fromMs: Math.max(one.fromMs, toMs), toMs: one.toMs },
          ].filter((part) => part.toMs > part.fromMs),
    );
  return left;
}

export const intervalsMs = (intervals: readonly Interval[]): number =>
  intervals.reduce((sum, { fromMs, toMs }) => sum + toMs - fromMs, 0);
