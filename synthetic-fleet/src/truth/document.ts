import type { MonitorId } from '@tallybay/contracts';
import type { CodeEvent } from '../codes/machine.js';
import type { Exposure, TruthSignal } from './exposure.js';

/** `truth.json`: what really happened, from the model itself, for tests and evaluations. Times are UTC. */
export interface TruthDocument {
  version: 1;
  /** Enough to make the same fleet again. */
  options: Record<string, unknown>;
  weeks: string[];
  /** How `exposure` counts. */
  rule: string;
  vehicles: VehicleTruth[];
}

export interface VehicleTruth {
  id: string;
  vehicleClass: string;
  depot: string;
  timeZone: string;
  /** What the vehicle is in the fleet for; `healthy` for most. */
  role: string;
  /** A fault that makes a temperature too high is growing in it. */
  plantedOverheater: boolean;
  /** Its coolant reading cannot be trusted (stuck, open, drift, wrong unit). */
  badCoolantSensor: boolean;
  hasCoolantChannel: boolean;
  faults: FaultTruth[];
  sensorFaults: { kind: string; signal: 'coolant_temp_c'; from: string; value: number | null }[];
  weeks: WeekTruth[];
  drives: DriveTruth[];
  codes: CodeEvent[];
  /** Clears by the shop; `hidden`: without repair, shortly before the inspection. */
  clears: { at: string; hidden: boolean }[];
  readiness: { weekly: ({ week: string } & ReadinessTruth)[]; inspection: { due: string } & Partial<ReadinessTruth> };
}

export interface FaultTruth {
  kind: string;
  signal: string;
  overheats: boolean;
  start: string;
  breakdown: string;
  repaired: string;
  /** Severity 0..1 = ((t - start) / (breakdown - start)) ^ exponent, 0 outside. */
  exponent: number;
}

export interface WeekTruth {
  week: string;
  from: string;
  to: string;
  engineHours: number;
  km: number;
  fuelL: number;
  drives: number;
  /** Severity of the worst fault at the end of the week. */
  severity: number;
  /** Signals above their caution stage (coolant 110, oil 127, transmission 116, charge air 100 degC) for a minute or more. */
  hot: TruthSignal[];
  exposure: Exposure;
}

export interface DriveTruth {
  week: string;
  start: string;
  end: string;
  engineSeconds: number;
  km: number;
  log: string;
  maxCoolantC: number;
}

export interface ReadinessTruth {
  lampOn: boolean;
  confirmed: string[];
  incomplete: MonitorId[];
  warmUpsSinceClear: number;
  distanceSinceClearKm: number;
  /** By the federal count of incomplete monitors (two for 1996-2000, one from 2001) and the lamp. */
  federal: 'pass' | 'refused' | 'fail' | 'not_subject';
}

export const EXPOSURE_RULE =
  'true state ten times a second, engine running; a value holds until the next one; at or above is >=; a drive counts for the ISO week of its start in the zone of the depot';
