import { type VehicleFacts, weekWindow } from '@tallybay/risk';
import { type EvalVehicle, glanceOf } from './eval-vehicle.js';

/** As far back as the lake looks for what is usual for a vehicle. */
const EARLIER_MS = 7 * 7 * 86_400_000;

/** What is known of a vehicle at the end of a week: the same facts that the lake would give. */
export function weekFacts({ vehicle, timeZone, drives, snapshots }: EvalVehicle, week: string): VehicleFacts {
  const { fromMs, toMs } = weekWindow(week, timeZone);
  const inWeek = drives.filter(({ drive }) => drive.startedMs >= fromMs && drive.startedMs < toMs);
  const earlier = drives.filter(({ drive }) => drive.startedMs < fromMs && drive.startedMs >= fromMs - EARLIER_MS);
  const known = snapshots.filter(({ atMs }) => atMs < toMs);
  const seen = [...drives.map(({ drive }) => drive.startedMs).filter((ms) => ms < toMs), ...known.map((s) => s.atMs)];
  return {
    ...{ vehicle, timeZone, fromMs, toMs, snapshots: known },
    drives: inWeek.map(({ drive }) => drive),
    earlierDrives: earlier.map(glanceOf),
    dwell: inWeek.flatMap(({ dwell }) => dwell),
    signals: inWeek.flatMap(({ signals }) => signals),
    lastSeenMs: seen.length > 0 ? Math.max(...seen) : null,
  };
}
