/**
 * Means of a value sampled at uneven times.
 * @param times ascending, any unit; @param values same length, at least two
 * @returns `trapezoid` linear between samples, `leftHold` each value holds to the next sample, `plainMean` ignores time
 */
export function timeWeightedMeans(
  times: readonly number[],
  values: readonly number[],
): { trapezoid: number; leftHold: number; plainMean: number } {
  let area = 0;
  let held = 0;
  for (let index = 1; index < times.length; index++) {
    const step = times[index]! - times[index - 1]!;
    area += ((values[index]! + values[index - 1]!) / 2) * step;
    held += values[index - 1]! * step;
  }
  const span = times[times.length - 1]! - times[0]!;
  const plainMean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return { trapezoid: area / span, leftHold: held / span, plainMean };
}

/**
 * Time at or above a limit, and the area above it, with the crossing found on the straight line between samples.
 * @returns `time` in the unit of times, `area` in value x time
 */
export function linearExceedance(
  times: readonly number[],
  values: readonly number[],
  limit: number,
): { time: number; area: number } {
  let time = 0;
  let area = 0;
  for (let index = 1; index < times.length; index++) {
    const step = times[index]! - times[index - 1]!;
    const above = values[index]! - limit;
    const aboveBefore = values[index - 1]! - limit;
    if (above >= 0 && aboveBefore >= 0) {
      time += step;
      area += ((above + aboveBefore) / 2) * step;
    } else if (above > 0 || aboveBefore > 0) {
      const top = Math.max(above, aboveBefore);
      const part = (step * top) / Math.abs(above - aboveBefore);
      time += part;
      area += (part * top) / 2;
    }
  }
  return { time, area };
}
