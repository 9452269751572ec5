import type { DwellFact } from '../facts.js';

/** Edges are conversions of decimal degrees: two ways of computing one differ by less than this [K]. */
const EDGE_TOLERANCE = 1e-6;

export interface Exposure {
  /** Seconds at or above the stage. */
  seconds: number;
  /** Integral of (value - stage) over those seconds [K·min]. */
  degreeMinutes: number;
  /** Highest value among them; null when there are none. */
  peak: number | null;
  /** False when a bin contains the stage and had to be shared out. */
  exact: boolean;
}

/**
 * Seconds and degree-minutes at or above a stage, from dwell.
 *
 * A bin whose lower edge is at or above the stage counts whole. A bin that contains the stage counts whole if its lowest
 * value reaches the stage, not at all if its highest value does not, and else by the part of [min, max] above the stage,
 * as if the values were spread evenly over it. Stages that are written in whole °F or half °C are edges of temperature
 * bins, so there the answer is exact. The sum does not depend on the order or the splitting of the rows (beyond rounding
 * in the last places).
 */
export function exposureAtOrAbove(rows: readonly DwellFact[], stage: number): Exposure {
  let seconds = 0;
  let degreeSeconds = 0;
  let peak: number | null = null;
  let exact = true;
  for (const row of inOrder(rows)) {
    const part = shareAbove(row, stage);
    if (part.seconds <= 0) continue;
    seconds += part.seconds;
    degreeSeconds += Math.max(0, part.degreeSeconds);
    exact &&= part.exact;
    peak = Math.max(peak ?? row.max, row.max);
  }
  return { seconds, degreeMinutes: degreeSeconds / 60, peak, exact };
}

function shareAbove(row: DwellFact, stage: number): { seconds: number; degreeSeconds: number; exact: boolean } {
  const whole = { seconds: row.seconds, degreeSeconds: row.valueSeconds - stage * row.seconds, exact: true };
  if (row.low >= stage - EDGE_TOLERANCE || row.min >= stage - EDGE_TOLERANCE) return whole;
  if (row.high <= stage + EDGE_TOLERANCE || row.max < stage - EDGE_TOLERANCE)
    return { seconds: 0, degreeSeconds: 0, exact: true };
  const seconds = (row.seconds * (row.max - stage)) / (row.max - row.min);
  return { seconds, degreeSeconds: (seconds * (row.max - stage)) / 2, exact: false };
}

/** Sums in a fixed order come out the same to the last bit, however the rows arrived. */
function inOrder(rows: readonly DwellFact[]): DwellFact[] {
  return [...rows].sort(
    (a, b) => a.low - b.low || a.seconds - b.seconds || a.valueSeconds - b.valueSeconds || a.max - b.max,
  );
}
