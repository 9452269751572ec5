import type { HeatSignal } from './stages.js';

/** When a temperature that is still within its limits is out of line with what the drive should have made of it. */
export interface WarningRule {
  signals: readonly { signal: HeatSignal; label: string /** Less than this is no finding [K]. */; leastK: number }[];
  /** Shorter drives do not warm up and are left out. */
  minDriveSeconds: number;
  /** Drives of so many days before the week's end are the recent ones; the older ones of the vehicle are its baseline. */
  recentDays: number;
  minRecentDrives: number;
  /**
   * A warning is of a rise, so there must be so many earlier drives to rise from: a sensor that is off by a few degrees or
   * another thermostat looks the same as weak cooling until a vehicle is known.
   */
  minEarlierDrives: number;
  /** Fewer drives in the class than this: nothing is learnt. */
  minClassDrives: number;
  /**
   * Standard errors that the median of the recent residuals must exceed: of the drives among themselves, and of the
   * vehicles of the class among themselves as far as a vehicle has no history of its own.
   */
  standardErrors: number;
  /** A vehicle's own baseline counts as if the class had given it so many drives at 0. */
  baselineDrives: number;
  /** Heat score that a warning alone may reach; below any stage that was crossed for long. */
  mostScore: number;
}

/** Judgement, no source. */
export const WARNING_RULE: WarningRule = {
  signals: [
    // Two steps of a coolant sensor that reports whole degrees (SAE J1979, PID 05).
    { signal: 'coolant_temp_c', label: 'Coolant', leastK: 2 },
    { signal: 'engine_oil_temp_c', label: 'Engine oil', leastK: 7 },
    { signal: 'trans_fluid_temp_c', label: 'Transmission fluid', leastK: 8 },
    { signal: 'charge_air_temp_c', label: 'Charge air', leastK: 8 },
  ],
  minDriveSeconds: 900,
  recentDays: 10,
  minRecentDrives: 3,
  minEarlierDrives: 3,
  minClassDrives: 20,
  standardErrors: 3,
  baselineDrives: 4,
  mostScore: 0.4,
};
