import type { SignalId } from '@tallybay/decode';
import type { EarlierDriveFact, VehicleFacts } from '../facts.js';
import { HEAT_SIGNALS, type HeatSignal } from '../rules/stages.js';
import { WARNING_RULE } from '../rules/warning.js';
import type { SensorFinding } from '../sensors/sensor-context.js';
import type { DriveFeatures, VehicleFeatures } from './early-warning.js';

const MEAN_SIGNALS: readonly SignalId[] = [...new Set(WARNING_RULE.predictors.flatMap(({ means }) => means))];

/** What the lake must give of earlier drives, as far as they recorded it. */
export const HISTORY_SIGNALS: readonly SignalId[] = [...new Set([...HEAT_SIGNALS, ...MEAN_SIGNALS])];

/** Drives closer than this are one trip: a fuel stop, or one drive that was uploaded in parts. */
const SAME_TRIP_MS = 10 * 60_000;

/** The trips of a vehicle, this week's and earlier ones, as the early warning looks at them. */
export function vehicleFeatures(facts: VehicleFacts, findings: readonly SensorFinding[]): VehicleFeatures {
  return {
    vehicleId: facts.vehicle.id,
    badSignals: findings.map(({ signal }) => signal),
    drives: tripsOf([...facts.earlierDrives, ...weekGlances(facts)]).map(features),
  };
}

/** The week's drives in the shape in which earlier ones are kept. */
export const weekGlances = (facts: VehicleFacts): EarlierDriveFact[] =>
  facts.drives.map((drive) => {
    const rows = facts.signals.filter((row) => row.driveId === drive.driveId && row.max !== null && row.first !== null);
    const glances = rows.map((row) => [row.signal, { first: row.first!, mean: row.mean, max: row.max! }] as const);
    return { ...drive, signals: Object.fromEntries(glances) };
  });

/** Oldest first; each a non-empty run of drives. */
export function tripsOf(drives: readonly EarlierDriveFact[]): EarlierDriveFact[][] {
  const ordered = [...drives].sort((a, b) => a.startedMs - b.startedMs || (a.driveId < b.driveId ? -1 : 1));
  const trips: EarlierDriveFact[][] = [];
  for (const drive of ordered) {
    const last = trips.at(-1)?.at(-1);
    if (last && drive.startedMs - last.endedMs <= SAME_TRIP_MS) trips.at(-1)!.push(drive);
    else trips.push([drive]);
  }
  return trips;
}

function features(trip: readonly EarlierDriveFact[]): DriveFeatures {
  const maxima = HEAT_SIGNALS.flatMap((signal) => {
    const values = trip.flatMap((drive) => drive.signals[signal]?.max ?? []);
    return values.length > 0 ? [[signal, Math.max(...values)] as const] : [];
  });
  const means = MEAN_SIGNALS.flatMap((signal) => {
    const mean = meanOver(trip, signal);
    return mean === null ? [] : [[signal, mean] as const];
  });
  return {
    driveId: trip[0]!.driveId,
    startedMs: trip[0]!.startedMs,
    seconds: trip.reduce((sum, drive) => sum + drive.seconds, 0),
    means: Object.fromEntries(means) as Partial<Record<SignalId, number>>,
    maxC: Object.fromEntries(maxima) as Partial<Record<HeatSignal, number>>,
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
