import type { HeatPeakFact, VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import { HEAT_SIGNALS, type HeatSignal, type StageName, type StageRow, stagesFor } from '../rules/stages.js';
import type { ClassAir } from '../sensors/class-air.js';
import { sensorFindings } from '../sensors/findings.js';
import type { SensorFinding } from '../sensors/sensor-context.js';
import { type Exposure, exposureAtOrAbove } from './exposure.js';

export interface StageExposure extends Exposure {
  stage: StageName;
  valueC: number;
  written: string;
}

/** What one signal of one vehicle says about heat in one week. */
export interface SignalHeat {
  signal: HeatSignal;
  label: string;
  state: 'ok' | 'no_data' | 'bad_sensor';
  finding: SensorFinding | null;
  /** Engine hours of the drives that carried the signal: what rates are per. */
  engineHours: number;
  /** Lowest stage first; empty unless the state is `ok`. */
  stages: StageExposure[];
  /** Weighted minutes: grows with each stage and with the degrees above it. */
  weightedMinutes: number;
  /** Highest valid value of the week, believed or not. */
  maxC: number | null;
  /** Of the drives that carried the signal and know their distance: what rates per distance are per. Null when none does. */
  distanceKm: number | null;
  /** The highest value with what went on beside it, where that was read. */
  peak: HeatPeakFact | null;
  /** Up to three drives with most weighted minutes. */
  driveIds: string[];
}

export interface VehicleHeat {
  engineHours: number;
  /** Null when no drive knows its distance. */
  distanceKm: number | null;
  /** Only signals that have stages for this vehicle. */
  signals: SignalHeat[];
  findings: SensorFinding[];
}

/** Without one of these there is no word on heat at all. */
const FLUIDS: readonly HeatSignal[] = ['coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c'];
export const isFluid = (signal: HeatSignal): boolean => FLUIDS.includes(signal);

/** Exposure of one vehicle, signal by signal. @param air of its class, for sensors that stand alone */
export function vehicleHeat(facts: VehicleFacts, rules: RuleSet, air?: ClassAir): VehicleHeat {
  const findings = sensorFindings(facts, rules, air);
  const known = facts.drives.flatMap((drive) => (drive.distanceKm === null ? [] : [drive.distanceKm]));
  return {
    engineHours: sum(facts.drives.map((drive) => drive.seconds)) / 3600,
    distanceKm: known.length > 0 ? sum(known) : null,
    findings,
    signals: HEAT_SIGNALS.flatMap((signal) => {
      const stages = stagesFor(rules.stages, signal, facts.vehicle);
      const finding = findings.find((item) => item.signal === signal) ?? null;
      return stages.length > 0 ? [signalHeat(facts, { signal, stages, finding }, rules)] : [];
    }),
  };
}

function signalHeat(
  facts: VehicleFacts,
  what: { signal: HeatSignal; stages: readonly StageRow[]; finding: SensorFinding | null },
  rules: RuleSet,
): SignalHeat {
  const { signal, stages, finding } = what;
  const stats = facts.signals.filter((row) => row.signal === signal);
  const seconds = sum(stats.map((row) => row.seconds));
  const state = finding ? 'bad_sensor' : seconds < rules.heat.minSignalSeconds ? 'no_data' : 'ok';
  const dwell = state === 'ok' ? facts.dwell.filter((row) => row.signal === signal) : [];
  const exposures = stages.map((stage) => exposureOf(dwell, stage));
  const weigh = (list: readonly StageExposure[]) => weightedMinutes(list, signal, rules);
  const byDrive = [...new Set(dwell.map((row) => row.driveId))].map((driveId) => {
    const rows = dwell.filter((row) => row.driveId === driveId);
    return { driveId, weight: weigh(stages.map((stage) => exposureOf(rows, stage))) };
  });
  return {
    ...{ signal, state, finding, label: rules.heat.signals[signal].label },
    engineHours: carriedSeconds(facts, stats) / 3600,
    distanceKm: carriedKm(facts, stats),
    peak: state === 'ok' ? (facts.peaks?.find((peak) => peak.signal === signal) ?? null) : null,
    stages: state === 'ok' ? exposures : [],
    weightedMinutes: weigh(exposures),
    maxC: stats.reduce<number | null>((max, row) => (row.max === null ? max : Math.max(max ?? row.max, row.max)), null),
    driveIds: byDrive
      .filter(({ weight }) => weight > 0)
      .sort((a, b) => b.weight - a.weight || (a.driveId < b.driveId ? -1 : 1))
      .slice(0, 3)
      .map(({ driveId }) => driveId),
  };
}

/** Engine-on seconds of the drives that carry a signal; of a drive that shares its time with another log, what counts here. */
function carriedSeconds(facts: VehicleFacts, stats: VehicleFacts['signals']): number {
  const secondsOf = new Map(facts.drives.map((drive) => [drive.driveId, drive.seconds]));
  const carried = stats.filter((row) => row.valid > 0);
  const byDrive = new Map(carried.map((row) => [row.driveId, row.engineSeconds ?? secondsOf.get(row.driveId) ?? 0]));
  return sum([...byDrive.values()]);
}

function carriedKm(facts: VehicleFacts, stats: VehicleFacts['signals']): number | null {
  const carried = new Set(stats.filter((row) => row.valid > 0).map((row) => row.driveId));
  const known = facts.drives.flatMap(({ driveId, distanceKm }) =>
    distanceKm !== null && carried.has(driveId) ? [distanceKm] : [],
  );
  return known.length > 0 ? sum(known) : null;
}

const exposureOf = (rows: VehicleFacts['dwell'], stage: StageRow): StageExposure => ({
  ...{ stage: stage.stage, valueC: stage.valueC, written: stage.written },
  ...exposureAtOrAbove(rows, stage.valueC),
});

/** Stages add up: a minute above `alarm` is also one above `caution` and `watch`. */
function weightedMinutes(stages: readonly StageExposure[], signal: HeatSignal, rules: RuleSet): number {
  const { degreesPerMinute } = rules.heat.signals[signal];
  return sum(
    stages.map(
      ({ stage, seconds, degreeMinutes }) =>
        rules.heat.minuteWeights[stage] * (seconds / 60 + degreeMinutes / degreesPerMinute),
    ),
  );
}

/** Ascending, so that the sum does not depend on the order of the facts. */
const sum = (values: readonly number[]): number =>
  [...values].sort((a, b) => a - b).reduce((all, value) => all + value, 0);
