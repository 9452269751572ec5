import type { DwellFact } from '../facts.js';
import type { AgeingRow } from '../rules/ageing.js';
import { ageingFactor, arrheniusFactor } from './ageing.js';

export interface FluidAgeing {
  /** Hours at or above the reference temperature. */
  hoursAbove: number;
  /** Hours at the reference that age the fluid as much, by the doubling rule. */
  equivalentHours: number;
  /** The same by Arrhenius: lower than the doubling rule at high temperatures, where that one exaggerates. */
  arrheniusHours: number;
  /** Share of the fluid's life used, when its life in km and the average speed are known: equivalent hours x speed / life. */
  lifeShare: number | null;
}

type Bin = Pick<DwellFact, 'low' | 'seconds' | 'valueSeconds'>;

/**
 * Ageing of one fluid from dwell bins that lie at or above the reference (others are passed over: the rule is stated for
 * above it only). Each bin counts at its mean temperature; within half a degree that differs from the exact integral by
 * less than one part in ten thousand.
 * @param averageSpeedKmh distance / engine hours of the same drives; null = distance not known
 */
export function fluidAgeing(bins: readonly Bin[], row: AgeingRow, averageSpeedKmh: number | null): FluidAgeing {
  const above = bins
    .filter((bin) => bin.seconds > 0 && bin.low >= row.referenceC - 1e-6)
    .sort((a, b) => a.low - b.low || a.seconds - b.seconds);
  let seconds = 0;
  let doubling = 0;
  let arrhenius = 0;
  for (const bin of above) {
    const meanC = bin.valueSeconds / bin.seconds;
    seconds += bin.seconds;
    doubling += bin.seconds * ageingFactor(meanC, row.referenceC, row.doublingK);
    arrhenius += bin.seconds * arrheniusFactor(row.activationEv, row.referenceC, meanC);
  }
  const equivalentHours = doubling / 3600;
  const lifeShare =
    row.lifeKm === null || averageSpeedKmh === null ? null : (equivalentHours * averageSpeedKmh) / row.lifeKm;
  return { hoursAbove: seconds / 3600, equivalentHours, arrheniusHours: arrhenius / 3600, lifeShare };
}
