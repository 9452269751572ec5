import type { VehicleFacts } from '../facts.js';

/**
 * The facts as they count after a repair: exposure starts anew. Drives before the newest repair of heat are left out, those
 * of earlier weeks as well, because what was usual with the fault is no measure for the time without it.
 */
export function sinceRepair(facts: VehicleFacts): VehicleFacts {
  const atMs = (facts.repairs ?? [])
    .filter((repair) => repair.heat && repair.atMs < facts.toMs)
    .reduce((newest, repair) => Math.max(newest, repair.atMs), Number.NEGATIVE_INFINITY);
  const after = facts.drives.filter(({ startedMs }) => startedMs >= atMs);
  const earlierDrives = facts.earlierDrives.filter(({ startedMs }) => startedMs >= atMs);
  if (after.length === facts.drives.length && earlierDrives.length === facts.earlierDrives.length) return facts;
  const ids = new Set(after.map(({ driveId }) => driveId));
  return {
    ...facts,
    ...{ drives: after, earlierDrives },
    dwell: facts.dwell.filter(({ driveId }) => ids.has(driveId)),
    signals: facts.signals.filter(({ driveId }) => ids.has(driveId)),
  };
}

/** The repair that a code came back after: the newest one between its first sight and its return. */
export function repairBefore(
  repairs: VehicleFacts['repairs'],
  span: { firstSeenMs: number; returnedMs: number },
): { atMs: number; label: string } | null {
  const between = (repairs ?? []).filter(({ atMs }) => atMs > span.firstSeenMs && atMs < span.returnedMs);
  return between.reduce<{ atMs: number; label: string } | null>(
    (newest, repair) => (newest && newest.atMs >= repair.atMs ? newest : repair),
    null,
  );
}
