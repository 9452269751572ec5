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

type Counter = (typeof COUNTERS)[number][0];

/** The newest snapshot since the last clear that read each counter, and the one that read distance and odometer together. */
type LastRead = Partial<Record<Counter | 'driven', SnapshotFact>>;

/**
 * Clears seen in a vehicle's snapshots, oldest first. Counters saturate and do not wrap, so one that went down since it was
 * last read was reset. A reset also shows when the distance counter gained less than the odometer did: enough may have been
 * driven since the clear for the counter to pass its old value.
 */
export function findClears(snapshots: readonly SnapshotFact[], rule: CodesRule): Clear[] {
  const ordered = [...snapshots].sort((a, b) => a.atMs - b.atMs || (a.uploadId < b.uploadId ? -1 : 1));
  const clears: Clear[] = [];
  let last: LastRead = {};
  for (const snapshot of ordered) {
    const clear = clearBefore(snapshot, last, rule);
    if (clear) {
      clears.push(clear);
      last = {};
    }
    for (const [counter] of COUNTERS) if (snapshot.counters[counter] !== null) last[counter] = snapshot;
    if (snapshot.counters.distanceSinceClearKm !== null && snapshot.odometerKm !== null) last.driven = snapshot;
  }
  return clears;
}

/** Where several counters tell of it, the one that was read last tells best when it was; in doubt the first. */
function clearBefore(snapshot: SnapshotFact, last: LastRead, rule: CodesRule): Clear | null {
  const told = COUNTERS.map(([counter, label]) => counterWentDown(counter, label, { before: last[counter], snapshot }));
  told.push(distanceFellBehind(last.driven, snapshot, rule));
  return told.reduce((best, clear) => (clear && (!best || clear.afterMs > best.afterMs) ? clear : best), null);
}

function counterWentDown(
  counter: Counter,
  label: string,
  { before, snapshot }: { before: SnapshotFact | undefined; snapshot: SnapshotFact },
): Clear | null {
  const old = before?.counters[counter] ?? null;
  const now = snapshot.counters[counter];
  if (!before || old === null || now === null || now >= old) return null;
  return between(before, snapshot, `${label} went from ${round(old)} to ${round(now)}`);
}

function distanceFellBehind(before: SnapshotFact | undefined, after: SnapshotFact, rule: CodesRule): Clear | null {
  const old = before?.counters.distanceSinceClearKm ?? null;
  const now = after.counters.distanceSinceClearKm;
  if (!before || old === null || now === null || before.odometerKm === null || after.odometerKm === null) return null;
  if (now >= rule.counterCeiling) return null;
  const driven = after.odometerKm - before.odometerKm;
  const missing = old + driven - now;
  if (missing <= rule.clearSlackKm + rule.clearSlackShare * driven) return null;
  const why = `${round(driven)} km driven, but distance since clear only went from ${round(old)} to ${round(now)} km`;
  return between(before, after, why);
}

const between = ({ atMs: afterMs }: SnapshotFact, { atMs: beforeMs }: SnapshotFact, why: string): Clear => ({
  afterMs,
  beforeMs,
  why,
});

const round = (value: number): number => Math.round(value * 10) / 10;
