import type { PixelColumns } from './pixel-columns.js';

/** Values at the bottom and the top of a lane, in the unit that it is drawn in. */
export interface Range {
  low: number;
  high: number;
}

const MARGIN = 0.08;

/** A range with some air above and below; a signal that stands still gets a range around its value. */
export function aired({ low, high }: Range): Range {
  const height = high - low;
  if (!(height > 0))
    return { low: low - Math.max(1, Math.abs(low) * 0.05), high: high + Math.max(1, Math.abs(high) * 0.05) };
  return { low: low - height * MARGIN, high: high + height * MARGIN };
}

/** Lowest and highest of what stands between the edges of the view; null = nothing does. */
export function rangeShown(columns: PixelColumns, widthPx: number): Range | null {
  let low = Infinity;
  let high = -Infinity;
  for (let index = 0; index < columns.length; index++) {
    if (columns.right[index]! < 0 || columns.left[index]! > widthPx) continue;
    low = Math.min(low, columns.min[index]!);
    high = Math.max(high, columns.max[index]!);
  }
  return low <= high ? { low, high } : null;
}

/** Round values inside the range, about so many. */
export function valueTicks({ low, high }: Range, about: number): number[] {
  const rough = (high - low) / Math.max(1, about);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 2.5, 5].find((factor) => factor * power >= rough) ?? 10) * power;
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.max(0, Math.floor(high / step) - first + 1) }, (_, index) => (first + index) * step);
}

/** Digits after the point that tell values of this range apart, at most three. */
export function digitsFor({ low, high }: Range): number {
  const height = Math.max(high - low, 1e-9);
  return Math.min(3, Math.max(0, 2 - Math.floor(Math.log10(height))));
}
