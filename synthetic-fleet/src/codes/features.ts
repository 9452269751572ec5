import { TICK_S } from '../physics/drive.js';
import type { DriveState } from '../physics/state.js';

/** What one drive was like, as far as monitors and code rules ask. */
export interface DriveFeatures {
  runS: number;
  km: number;
  soakHours: number;
  coldStart: boolean;
  ambientC: number;
  startCoolantC: number;
  maxCoolantC: number;
  maxTransC: number;
  maxOilC: number;
  coolantOverS: number;
  transOverS: number;
  oilOverS: number;
  chargeOverS: number;
  /** Coolant temperature 15 minutes after the start; null on a shorter drive. */
  coolantAfter15MinC: number | null;
  warmCruiseS: number;
  highLoadS: number;
  overruns: number;
  /** The coolant sensor's circuit is open: its reading is -40. */
  sensorOpen: boolean;
}

const WARM_C = 70;

/** Collects the features of one drive from its states. */
export class FeatureMeter {
  readonly features: DriveFeatures;
  #overrun = false;

  constructor(start: Pick<DriveFeatures, 'soakHours' | 'ambientC' | 'startCoolantC'>) {
    this.features = {
      ...start,
      runS: 0,
      km: 0,
      coldStart: start.startCoolantC < start.ambientC + 12,
      maxCoolantC: start.startCoolantC,
      maxTransC: start.ambientC,
      maxOilC: start.ambientC,
      coolantOverS: 0,
      transOverS: 0,
      oilOverS: 0,
      chargeOverS: 0,
      coolantAfter15MinC: null,
      warmCruiseS: 0,
      highLoadS: 0,
      overruns: 0,
      sensorOpen: false,
    };
  }

  observe(state: DriveState): void {
    if (!state.running) return;
    const { features } = this;
    features.runS += TICK_S;
    features.maxCoolantC = Math.max(features.maxCoolantC, state.coolantC);
    features.maxTransC = Math.max(features.maxTransC, state.transC);
    features.maxOilC = Math.max(features.maxOilC, state.oilC);
    if (state.coolantC >= 118) features.coolantOverS += TICK_S;
    if (state.transC >= 121) features.transOverS += TICK_S;
    if (state.oilC >= 138) features.oilOverS += TICK_S;
    if (state.chargeC >= 105) features.chargeOverS += TICK_S;
    if (features.coolantAfter15MinC === null && features.runS >= 900) features.coolantAfter15MinC = state.coolantC;
    if (state.coolantC >= WARM_C && state.speedMs > 16 && state.load > 0.08) features.warmCruiseS += TICK_S;
    if (state.load > 0.72) features.highLoadS += TICK_S;
    const overrun = state.fuelKw < 0.01 && state.speedMs > 8;
    if (overrun && !this.#overrun) features.overruns += 1;
    this.#overrun = overrun;
  }
}
