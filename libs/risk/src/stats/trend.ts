import { median } from './descriptive.js';

/**
 * Theil-Sen slope: the median of the slopes between all pairs of points, so that one odd week does not make a trend.
 * @param points with distinct x; @returns null for fewer than two
 */
export function theilSenSlope(points: readonly { x: number; y: number }[]): number | null {
  const slopes: number[] = [];
  for (let later = 1; later < points.length; later++)
    for (let earlier = 0; earlier < later; earlier++)
      slopes.push((points[later]!.y - points[earlier]!.y) / (points[later]!.x - points[earlier]!.x));
  return slopes.length > 0 ? median(slopes) : null;
}
