import type { DwellFact } from '../facts.js';

/**
 * The highest value that a drive was at or above for so many seconds in all, from one signal's bins: a value within a bin
 * is taken as spread evenly between the bin's lowest and highest. Null when the bins hold less time than that.
 */
export function heldValue(
  bins: readonly Pick<DwellFact, 'low' | 'min' | 'max' | 'seconds'>[],
  seconds: number,
): number | null {
  let left = seconds;
  for (const bin of [...bins].sort((a, b) => b.low - a.low)) {
    if (bin.seconds >= left) return bin.max - (left / bin.seconds) * (bin.max - bin.min);
    left -= bin.seconds;
  }
  return null;
}
