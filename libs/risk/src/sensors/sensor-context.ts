import type { DriveFact, DwellFact, SignalFact, VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import type { HeatSignal } from '../rules/stages.js';
import type { ClassAir } from './class-air.js';

export type FindingKind =
  | 'stuck'
  | 'out_of_range'
  | 'jumping'
  | 'impossible'
  | 'never_warm'
  | 'cold_start'
  | 'disagrees'
  | 'wrong_unit';

/** A sensor that is not to be believed this week: a data-quality finding, never heat. */
export interface SensorFinding {
  signal: HeatSignal;
  kind: FindingKind;
  text: string;
}

export interface SensorContext {
  label: string;
  signal: HeatSignal;
  rule: SensorRule;
  /** Figures of this signal, one row a drive and channel. */
  stats: readonly SignalFact[];
  dwell: readonly DwellFact[];
  drives: readonly DriveFact[];
  facts: VehicleFacts;
  classAir: ClassAir;
  /** Infinity where the signal has no stage for this vehicle. */
  lowestStageC: number;
}
