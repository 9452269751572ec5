import type { SignalId } from '@tallybay/decode';
import type { EarlierDriveFact, VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import { HEAT_SIGNALS, type HeatSignal, stagesFor } from '../rules/stages.js';
import { WARNING_RULE } from '../rules/warning.js';
import { type ClassAir, NO_CLASS_AIR } from '../sensors/class-air.js';
import { type ColdOffsets, coldOffsets } from '../sensors/cold-offset.js';
import type { SensorFinding } from '../sensors/sensor-context.js';
import type { DriveFeatures, VehicleFeatures } from './early-warning.js';
import { tripsOf, weekGlances } from './trips.js';

const MEAN_SIGNALS: readonly SignalId[] = [...new Set(WARNING_RULE.predictors.flatMap(({ means }) => means))];

/** What the lake must give of earlier drives, as far as they recorded it. */
export const HISTORY_SIGNALS: readonly SignalId[] = [...new Set([...HEAT_SIGNALS, ...MEAN_SIGNALS])];

/**
 * The trips of a vehicle, this week's and earlier ones, as the early warning looks at them.
 * @param air what its neighbours say of a lone sensor at cold starts
 */
export function vehicleFeatures(
  facts: VehicleFacts,
  findings: readonly SensorFinding[],
  rules: RuleSet,
  air: ClassAir = NO_CLASS_AIR,
): VehicleFeatures {
  const offsets = coldOffsets(facts, rules.sensors, air);
  return {
    vehicleId: facts.vehicle.id,
    badSignals: findings.map(({ signal }) => signal),
    learnsBelowC: learnsBelowC(facts, rules),
    drives: tripsOf([...facts.earlierDrives, ...weekGlances(facts)]).map((trip) => features(trip, offsets)),
  };
}

function learnsBelowC({ vehicle }: VehicleFacts, { stages, warning }: RuleSet): VehicleFeatures['learnsBelowC'] {
  return Object.fromEntries(
    HEAT_SIGNALS.flatMap((signal) => {
      const limit = stagesFor(stages, signal, vehicle).find(({ stage }) => stage === warning.learnsBelow);
      return limit ? [[signal, limit.valueC] as const] : [];
    }),
  );
}

function features(trip: readonly EarlierDriveFact[], offsets: ColdOffsets): DriveFeatures {
  const held = HEAT_SIGNALS.flatMap((signal) => {
    const values = trip.flatMap((drive) => drive.signals[signal]?.held ?? drive.signals[signal]?.max ?? []);
    return values.length > 0 ? [[signal, Math.max(...values)] as const] : [];
  });
  const means = MEAN_SIGNALS.flatMap((signal) => {
    const mean = meanOver(trip, signal);
    return mean === null ? [] : [[signal, mean] as const];
  });
  const { driveId, startedMs } = trip[0]!;
  const sensorK = held.flatMap(([signal]) => {
    const offsetK = offsets(signal, startedMs);
    return offsetK > 0 ? [[signal, offsetK] as const] : [];
  });
  return {
    driveId,
    startedMs,
    seconds: trip.reduce((sum, drive) => sum + drive.seconds, 0),
    means: Object.fromEntries(means) as Partial<Record<SignalId, number>>,
    heldC: Object.fromEntries(held) as Partial<Record<HeatSignal, number>>,
    sensorK: Object.fromEntries(sensorK) as Partial<Record<HeatSignal, number>>,
  };
}

/** Mean of a signal over the drives that have it, by engine-on time. */
function meanOver(trip: readonly EarlierDriveFact[], signal: SignalId): number | null {
  const parts = trip.flatMap((drive) => {
    const mean = drive.signals[signal]?.mean;
    return typeof mean === 'number' ? [{ mean, seconds: drive.seconds }] : [];
  });
  const seconds = parts.reduce((sum, part) => sum + part.seconds, 0);
  return seconds > 0 ? parts.reduce((sum, part) => sum + part.mean * part.seconds, 0) / seconds : null;
}
