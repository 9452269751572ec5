/** Mean and sample standard deviation by Welford's updates (stable where a sum of squares is not). */
export function describe(values: Iterable<number>): { count: number; mean: number; sd: number } {
  let count = 0;
  let mean = 0;
  let squares = 0;
  for (const value of values) {
    count += 1;
    const delta = value - mean;
    mean += delta / count;
    squares += delta * (value - mean);
  }
  return { count, mean, sd: count > 1 ? Math.sqrt(squares / (count - 1)) : 0 };
}

/**
 * Percentile by rank p(N + 1) with linear interpolation (NIST/SEMATECH e-Handbook 7.2.6.2).
 * @param p 0..1; @returns NaN for no values
 */
export function percentile(values: readonly number[], p: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  if (sorted.length === 0) return Number.NaN;
  const rank = p * (sorted.length + 1);
  const below = Math.floor(rank);
  if (below < 1) return sorted[0]!;
  if (below >= sorted.length) return sorted[sorted.length - 1]!;
  return sorted[below - 1]! + (rank - below) * (sorted[below]! - sorted[below - 1]!);
}

export const median = (values: readonly number[]): number => percentile(values, 0.5);
