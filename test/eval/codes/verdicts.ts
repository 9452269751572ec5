import { DEFAULT_RULES, hiddenClear, PROGRAMMES, readinessVerdict, type SnapshotFact } from '@tallybay/risk';
import type { ReadinessTruth } from '@tallybay/synthetic-fleet';
import type { EvalVehicle } from '../fleet/eval-vehicle.js';
import type { Hits } from './code-truth.js';

const MS_PER_DAY = 86_400_000;
const FEDERAL = PROGRAMMES[0]!;

/** What was said of a vehicle at an instant, and what an inspection at that instant would really have said. */
export interface VerdictPair {
  said: ReadinessTruth['federal'] | 'unknown';
  truly: ReadinessTruth['federal'];
  /** Nothing happened to the vehicle between its newest reading and that instant: no drive, no clear. */
  fresh: boolean;
}

const SAID = {
  would_pass: 'pass',
  would_be_refused: 'refused',
  would_fail: 'fail',
  not_subject: 'not_subject',
  not_enough_data: 'unknown',
} as const;

/** The federal verdict at the end of each week from the snapshots until then, against the control module's own state. */
export function weeklyVerdicts({ vehicle, truth }: EvalVehicle, snapshots: readonly SnapshotFact[]): VerdictPair[] {
  return truth.readiness.weekly.flatMap(({ week, federal }) => {
    const toMs = Date.parse(truth.weeks.find((row) => row.week === week)?.to ?? '');
    const known = snapshots.filter(({ atMs }) => atMs < toMs);
    if (known.length === 0 || Number.isNaN(toMs)) return [];
    const readMs = known.at(-1)!.atMs;
    const since = [...truth.drives.map(({ end }) => end), ...truth.clears.map(({ at }) => at)].map((at) =>
      Date.parse(at),
    );
    const fresh = !since.some((ms) => ms > readMs && ms < toMs);
    return [{ said: SAID[readinessVerdict(FEDERAL, vehicle, known).verdict], truly: federal, fresh }];
  });
}

/** Said `verdict` against truly `verdict`; what could not be said counts as missed. */
export function verdictHits(pairs: readonly VerdictPair[], verdict: ReadinessTruth['federal']): Hits {
  const count = (fits: (pair: VerdictPair) => boolean) => pairs.filter(fits).length;
  return {
    found: count(({ said, truly }) => said === verdict && truly === verdict),
    missed: count(({ said, truly }) => said !== verdict && truly === verdict),
    madeUp: count(({ said, truly }) => said === verdict && truly !== verdict),
  };
}

/**
 * A hidden clear said on the eve of the inspection date, against the shop's book: codes were cleared within the days that
 * count as lately, and a monitor was open at the inspection.
 */
export function hiddenClearHits({ vehicle, truth }: EvalVehicle, snapshots: readonly SnapshotFact[]): Hits {
  const { due, incomplete } = truth.readiness.inspection;
  const none = { found: 0, missed: 0, madeUp: 0 };
  if (incomplete === undefined) return none;
  const asOfMs = Date.parse(`${due}T00:00:00Z`) + MS_PER_DAY;
  const known = snapshots.filter(({ atMs }) => atMs < asOfMs);
  const said = hiddenClear(known, { verdict: readinessVerdict(FEDERAL, vehicle, known), asOfMs }, DEFAULT_RULES);
  const lately = truth.clears.some(({ at }) => {
    const days = (asOfMs - Date.parse(at)) / MS_PER_DAY;
    return days >= 0 && days <= DEFAULT_RULES.readiness.staleDays;
  });
  const truly = lately && incomplete.length > 0;
  if (said && truly) return { ...none, found: 1 };
  return said ? { ...none, madeUp: 1 } : truly ? { ...none, missed: 1 } : none;
}
