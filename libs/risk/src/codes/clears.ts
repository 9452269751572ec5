import type { SnapshotFact } from '../facts.js';
import type { CodesRule } from '../rules/codes.js';

/** A clear (SAE J1979 service 04, or the battery disconnected) between two snapshots. */
export interface Clear {
  afterMs: number;
  beforeMs: number;
  /** In words, with the counter that tells. */
  why: string;
}

const COUNTERS = [
  ['warmUpsSinceClear', 'warm-ups since clear'],
  ['distanceSinceClearKm', 'distance since clear'],
  ['minutesSinceClear', 'minutes since clear'],
] as const;

/**
 * Clears seen in a vehicle's snapshots, oldest first. Counters saturate and do not wrap, so one that went down was reset.
 * A reset also shows when the distance counter gained less than the odometer did: enough may have been driven since the
 * clear for the counter to pass its old value.
 */
export function findClears(snapshots: readonly SnapshotFact[], rule: CodesRule): Clear[] {
  const ordered = [...snapshots].sort((a, b) => a.atMs - b.atMs || (a.uploadId < b.uploadId ? -1 : 1));
  const clears: Clear[] = [];
  let last: SnapshotFact | null = null;
  for (const snapshot of ordered) {
    if (COUNTERS.every(([counter]) => snapshot.counters[counter] === null)) continue;
    const why = last && (counterWentDown(last, snapshot) ?? distanceFellBehind(last, snapshot, rule));
    if (last && why) clears.push({ afterMs: last.atMs, beforeMs: snapshot.atMs, why });
    last = snapshot;
  }
  return clears;
}

function counterWentDown(before: SnapshotFact, after: SnapshotFact): string | null {
  for (const [counter, label] of COUNTERS) {
    const old = before.counters[counter];
    const now = after.counters[counter];
    if (old !== null && now !== null && now < old) return `${label} went from ${round(old)} to ${round(now)}`;
  }
  return null;
}

function distanceFellBehind(before: SnapshotFact, after: SnapshotFact, rule: CodesRule): string | null {
  const old = before.counters.distanceSinceClearKm;
  const now = after.counters.distanceSinceClearKm;
  if (old === null || now === null || before.odometerKm === null || after.odometerKm === null) return null;
  if (now >= rule.counterCeiling) return null;
  const driven = after.odometerKm - before.odometerKm;
  const missing = old + driven - now;
  if (missing <= rule.clearSlackKm + rule.clearSlackShare * driven) return null;
  return `${round(driven)} km driven, but distance since clear only went from ${round(old)} to ${round(now)} km`;
}

const round = (value: number): number => Math.round(value * 10) / 10;
