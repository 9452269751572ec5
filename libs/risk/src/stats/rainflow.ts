/**
 * Rainflow cycle counting, ASTM E1049-85 (reapproved 2017) section 5.4.4.
 * @param series values in time order; plateaus and points on a slope are dropped first
 * @returns ranges ascending with their counts (1 a full cycle, 0.5 a half cycle)
 */
export function rainflow(series: readonly number[]): { range: number; count: number }[] {
  const counts = new Map<number, number>();
  const add = (range: number, count: number) => counts.set(range, (counts.get(range) ?? 0) + count);
  const stack: number[] = [];
  for (const point of reversals(series)) {
    stack.push(point);
    while (stack.length >= 3) {
      const last = stack.length - 1;
      const newest = Math.abs(stack[last]! - stack[last - 1]!);
      const before = Math.abs(stack[last - 1]! - stack[last - 2]!);
      if (newest < before) break;
      if (stack.length === 3) {
        // The range contains the series' start: half a cycle, and the start is given up.
        add(before, 0.5);
        stack.shift();
      } else {
        add(before, 1);
        stack.splice(last - 2, 2);
      }
    }
  }
  for (let index = 1; index < stack.length; index++) add(Math.abs(stack[index]! - stack[index - 1]!), 0.5);
  return [...counts].sort(([a], [b]) => a - b).map(([range, count]) => ({ range, count }));
}

/** First and last value and every turning point between them. */
function reversals(series: readonly number[]): number[] {
  const points: number[] = [];
  for (const value of series) {
    const last = points.length - 1;
    if (last >= 0 && value === points[last]) continue;
    const goesOn = last >= 1 && Math.sign(value - points[last]!) === Math.sign(points[last]! - points[last - 1]!);
    if (goesOn) points[last] = value;
    else points.push(value);
  }
  return points;
}
