/** One signal's figures by column; NaN = no value. */
export interface Figures {
  first: Float64Array;
  min: Float64Array;
  max: Float64Array;
  last: Float64Array;
}

/** Columns of equal width that hold rows, in time order; those without rows are left out. */
export interface Columns {
  /** Number of the column from the start of the span. */
  bucket: Float64Array;
  /** Instants of its first and last row [epoch ms]. */
  atMs: Float64Array;
  untilMs: Float64Array;
  figures: Figures;
}

/**
 * Joins neighbours to columns of `factor` times the width, those in [fromBucket, toBucket) only. Lowest and highest values
 * pass through unchanged, so a single sample stays visible however often this is applied.
 */
export function coarser(fine: Columns, factor: number, fromBucket: number, toBucket: number): Columns {
  const start = lowerBound(fine.bucket, fromBucket);
  const end = lowerBound(fine.bucket, toBucket);
  const joined = emptyColumns(end - start);
  let length = 0;
  for (let i = start; i < end; i++) {
    const bucket = Math.floor((fine.bucket[i]! - fromBucket) / factor);
    if (length > 0 && joined.bucket[length - 1] === bucket) {
      joined.untilMs[length - 1] = fine.untilMs[i]!;
      take(joined.figures, length - 1, fine.figures, i);
      continue;
    }
    joined.bucket[length] = bucket;
    joined.atMs[length] = fine.atMs[i]!;
    joined.untilMs[length] = fine.untilMs[i]!;
    for (const name of NAMES) joined.figures[name][length] = fine.figures[name][i]!;
    length++;
  }
  return cut(joined, length);
}

const NAMES = ['first', 'min', 'max', 'last'] as const;

function take(into: Figures, at: number, from: Figures, i: number): void {
  if (Number.isNaN(from.first[i]!)) return;
  if (Number.isNaN(into.first[at]!)) into.first[at] = from.first[i]!;
  into.last[at] = from.last[i]!;
  // Comparisons with NaN are false: the first value of a column is always taken.
  if (!(into.min[at]! <= from.min[i]!)) into.min[at] = from.min[i]!;
  if (!(into.max[at]! >= from.max[i]!)) into.max[at] = from.max[i]!;
}

function emptyColumns(length: number): Columns {
  const one = () => new Float64Array(length);
  return {
    ...{ bucket: one(), atMs: one(), untilMs: one() },
    figures: { first: one(), min: one(), max: one(), last: one() },
  };
}

function cut(columns: Columns, length: number): Columns {
  const { bucket, atMs, untilMs, figures } = columns;
  const part = (values: Float64Array) => values.subarray(0, length);
  return {
    ...{ bucket: part(bucket), atMs: part(atMs), untilMs: part(untilMs) },
    figures: { first: part(figures.first), min: part(figures.min), max: part(figures.max), last: part(figures.last) },
  };
}

function lowerBound(sorted: Float64Array, value: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
