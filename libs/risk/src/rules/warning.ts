import type { SignalId } from '@tallybay/decode';
import type { HeatSignal, StageName } from './stages.js';

/** Something besides its length that explains how warm a drive gets: a mean over the drive. */
export interface DrivePredictor {
  /** The first of these that the drive has; all in one unit. A drive without any counts as the middle of its class. */
  means: readonly SignalId[];
  /** One step of the scale, in that unit: columns of like size. */
  step: number;
  /** Temperatures that it does not explain. */
  notFor?: readonly HeatSignal[];
}

export interface WarningSignal {
  signal: HeatSignal;
  label: string;
  /** Less than this is no finding [K]. */
  leastK: number;
  /**
   * How much of its standard errors counts where evidence too weak to warn puts vehicles in order. Weak cooling of any kind
   * shows in the coolant; the others answer to one fault each, and scatter as much.
   */
  leaningWeight: number;
}

/** When a temperature that is still within its limits is out of line with what the drive should have made of it. */
export interface WarningRule {
  signals: readonly WarningSignal[];
  /** What none of a class's drives recorded is left out for that class. */
  predictors: readonly DrivePredictor[];
  /**
   * Temperatures do not answer in a straight line: a thermostat holds them on easy drives and opens on hard ones. So the
   * square of what the straight model explains is explained with: counted from the middle of the class's drives in spans
   * from its easiest to its hardest tenth, and never further out than so many spans.
   */
  bendSpans: number;
  /** What a drive was at or above for so long in all is its temperature: a single reading is noise and whole degrees. */
  heldSeconds: number;
  /**
   * A drive that held so much is no example of what its class should hold: nothing is learnt from it, and no drive
   * explains more. In a small class one sick vehicle would otherwise explain its own heat.
   */
  learnsBelow: StageName;
  /** Shorter drives do not warm up and are left out. */
  minDriveSeconds: number;
  /** Drives of so many days before the week's end are the recent ones; the older ones of the vehicle are its baseline. */
  recentDays: number;
  /** Among the recent drives the latest count most: a drive so many days ago counts 1/e of one today. */
  memoryDays: number;
  minRecentDrives: number;
  /**
   * A warning is of a rise, so there must be so many earlier drives to rise from: a sensor that is off by a few degrees or
   * another thermostat looks the same as weak cooling until a vehicle is known.
   */
  minEarlierDrives: number;
  /** Fewer drives in the class than this: nothing is learnt. */
  minClassDrives: number;
  /** Weight of a drive by what it asked of the cooling: 0 an easy one, 1 a hard one of the class, within these bounds. */
  demandBounds: { least: number; most: number };
  /** One drive counts as no further from the middle of the recent ones than so many times the usual scatter. */
  clipScales: number;
  /** Vehicles stand apart by nature at least so many times as far as a vehicle's drives do. */
  leastBetween: number;
  /** Standard errors that the excess must reach. */
  standardErrors: number;
  /** Heat score that a warning alone may reach; below any stage that was crossed for long. */
  mostScore: number;
  /**
   * Evidence too weak to warn still puts vehicles in order: from so many weighted standard errors on (root of the sum of
   * squares over the signals), growing to `mostScore` at `fullErrors`. It never reaches what a shop would act on.
   */
  leaning: { fromErrors: number; fullErrors: number; mostScore: number };
}

/** Judgement, no source. */
export const WARNING_RULE: WarningRule = {
  signals: [
    // One step of a coolant sensor that reports whole degrees (SAE J1979, PID 05).
    { signal: 'coolant_temp_c', label: 'Coolant', leastK: 1, leaningWeight: 1 },
    { signal: 'engine_oil_temp_c', label: 'Engine oil', leastK: 3.5, leaningWeight: 0.5 },
    { signal: 'trans_fluid_temp_c', label: 'Transmission fluid', leastK: 4, leaningWeight: 0.5 },
    { signal: 'charge_air_temp_c', label: 'Charge air', leastK: 4, leaningWeight: 0.5 },
  ],
  predictors: [
    { means: ['engine_load_pct'], step: 1 },
    { means: ['vehicle_speed_kmh'], step: 1 },
    { means: ['ambient_temp_c', 'intake_air_temp_c'], step: 1 },
    // Heat goes into the coolant with each stroke, and the engine turns its own pumps and fan; the gearbox has slip and its own pump.
    { means: ['engine_speed_rpm'], step: 100, notFor: ['trans_fluid_temp_c'] },
  ],
  bendSpans: 1.5,
  heldSeconds: 60,
  learnsBelow: 'alarm',
  minDriveSeconds: 900,
  recentDays: 10,
  memoryDays: 5,
  minRecentDrives: 3,
  minEarlierDrives: 2,
  minClassDrives: 20,
  demandBounds: { least: 0.2, most: 2 },
  clipScales: 5,
  leastBetween: 0.5,
  standardErrors: 3,
  mostScore: 0.4,
  leaning: { fromErrors: 1, fullErrors: 5, mostScore: 0.09 },
};
