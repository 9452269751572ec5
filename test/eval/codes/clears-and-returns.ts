import { CODES_RULE, codeTimelines, findClears, type SnapshotFact } from '@tallybay/risk';
import type { VehicleTruth } from '@tallybay/synthetic-fleet';
import { type Hits, trueReturns } from './code-truth.js';

/**
 * Clears that the counters tell of against those of the generator's shop. One span between two readings stands for one
 * clear: of two clears in it the second is missed. Clears before the first or after the last reading are not asked for.
 */
export function clearHits(truth: VehicleTruth, snapshots: readonly SnapshotFact[]): Hits {
  const [firstMs, lastMs] = [snapshots[0]?.atMs ?? 0, snapshots.at(-1)?.atMs ?? 0];
  const open = truth.clears.map(({ at }) => Date.parse(at)).filter((ms) => ms > firstMs && ms < lastMs);
  const wanted = open.length;
  const told = findClears(snapshots, CODES_RULE);
  const found = told.filter(({ afterMs, beforeMs }) => {
    const index = open.findIndex((ms) => ms > afterMs && ms <= beforeMs);
    if (index >= 0) open.splice(index, 1);
    return index >= 0;
  }).length;
  return { found, missed: wanted - found, madeUp: told.length - found };
}

/**
 * Returns that the snapshots tell of against those of the generator's control module. A told return is right when the code
 * really came back after it was last seen and not after it was told; each true one is found once. `asked` leaves out true
 * returns that no reading could show: the code was gone again before the next one.
 */
export function returnHits(truth: VehicleTruth, snapshots: readonly SnapshotFact[]): { all: Hits; asked: Hits } {
  const lastMs = snapshots.at(-1)?.atMs ?? 0;
  const firstMs = snapshots[0]?.atMs ?? 0;
  const wanted = trueReturns(truth).filter(({ atMs }) => atMs > firstMs && atMs <= lastMs);
  const open = [...wanted];
  const told = codeTimelines(snapshots, CODES_RULE).flatMap(({ code, returns }) =>
    returns.map(({ atMs, days }) => ({ code, atMs, lastSeenMs: atMs - days * 86_400_000 })),
  );
  const found = told.filter(({ code, atMs, lastSeenMs }) => {
    const index = open.findIndex((item) => item.code === code && item.atMs > lastSeenMs && item.atMs <= atMs);
    if (index >= 0) open.splice(index, 1);
    return index >= 0;
  }).length;
  const hidden = open.filter((item) => !couldBeSeen(item, truth, snapshots)).length;
  const madeUp = told.length - found;
  return {
    all: { found, missed: open.length, madeUp },
    asked: { found, missed: open.length - hidden, madeUp },
  };
}

/** Some reading of its status fell between the return and the code's next going. */
function couldBeSeen(
  { code, atMs }: { code: string; atMs: number },
  truth: VehicleTruth,
  snapshots: readonly SnapshotFact[],
): boolean {
  return snapshots.some(
    (snapshot) =>
      snapshot.atMs >= atMs &&
      snapshot.codes.some((item) => item.code === code && item.status !== 'permanent') &&
      !truth.codes.some(
        (event) =>
          event.code === code &&
          (event.event === 'cleared' || event.event === 'erased') &&
          Date.parse(event.at) > atMs &&
          Date.parse(event.at) < snapshot.atMs,
      ),
  );
}
