import { celsiusFromFahrenheit, type HeatSignal } from './stages.js';

/** How a fluid ages with its temperature. */
export interface AgeingRow {
  signal: HeatSignal;
  label: string;
  referenceC: number;
  /** Life halves with each step above the reference [K]. */
  doublingK: number;
  /** For the Arrhenius form [eV]; the default gives the same doubling at the reference. */
  activationEv: number;
  /** Distance that the fluid lasts at the reference [km]; null = not known. */
  lifeKm: number | null;
  /** That distance as people write it. */
  lifeText: string;
  /** Said in the reasons when the fluid aged at least so many times as fast as at the reference. */
  saidFromFactor: number;
  source: string;
}

const KM_PER_MILE = 1.609344;
const STEP_K = (20 * 5) / 9;

export const AGEING_ROWS: readonly AgeingRow[] = [
  {
    signal: 'trans_fluid_temp_c',
    label: 'Transmission fluid',
    referenceC: celsiusFromFahrenheit(175),
    doublingK: STEP_K,
    activationEv: 0.689,
    lifeKm: 100_000 * KM_PER_MILE,
    lifeText: '100,000 miles at 175 °F',
    saidFromFactor: 2,
    source:
      'industry rule of thumb, no standard: 100,000 miles near 170 to 175 °F, life halves per 20 °F (read on two public pages; a third says 20 to 25 °F)',
  },
];
