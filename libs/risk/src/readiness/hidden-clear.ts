import { findClears } from '../codes/clears.js';
import { codeTimelines } from '../codes/timeline.js';
import type { SnapshotFact } from '../facts.js';
import { countText } from '../figures.js';
import type { ReadinessScoring } from '../rules/readiness.js';
import type { RuleSet } from '../rules/rule-set.js';
import { monitorNames, type ReadinessVerdict } from './verdict.js';

const MS_PER_DAY = 86_400_000;

/** Codes were cleared and the monitors have not run since: what the codes were no longer shows at an inspection. */
export interface HiddenClear {
  text: string;
  /** Snapshot that shows it. */
  uploadId: string;
  atMs: number;
  /** The clear came after this instant; null when the counters of one snapshot alone tell of it. */
  sinceMs: number | null;
  /** Codes that it took away, as far as snapshots before it show them. */
  codes: string[];
}

type Rules = Pick<RuleSet, 'codes' | 'readiness'>;

/** A clear that the newest reading still carries: between two snapshots, or visible within the newest one. */
export function hiddenClear(
  snapshots: readonly SnapshotFact[],
  { verdict, asOfMs }: { verdict: ReadinessVerdict; asOfMs: number },
  rules: Rules,
): HiddenClear | null {
  const newest = snapshots.find(
    ({ uploadId, atMs }) => uploadId === verdict.snapshot?.uploadId && atMs === verdict.snapshot.atMs,
  );
  if (!newest || verdict.incomplete.length === 0) return null;
  const names = monitorNames(verdict.incomplete);
  const shownBy = { uploadId: newest.uploadId, atMs: newest.atMs };
  const have = verdict.incomplete.length === 1 ? 'has' : 'have';
  const textOf = (why: string) => `Codes were cleared lately (${why}) and ${names} ${have} not completed since.`;
  const clear = findClears(snapshots, rules.codes).findLast(({ beforeMs }) => beforeMs <= newest.atMs);
  if (clear && asOfMs - clear.beforeMs <= rules.readiness.staleDays * MS_PER_DAY) {
    const taken = codeTimelines(snapshots, rules.codes).filter(({ clears }) =>
      clears.some((item) => item.clear.beforeMs === clear.beforeMs),
    );
    const codes = [...new Set(taken.map(({ code }) => code))];
    return { ...shownBy, text: textOf(clear.why), sinceMs: clear.afterMs, codes };
  }
  const fresh = freshText(newest, verdict, rules.readiness);
  return fresh === null ? null : { ...shownBy, text: textOf(fresh), sinceMs: null, codes: [] };
}

function freshText(snapshot: SnapshotFact, verdict: ReadinessVerdict, { freshClear }: ReadinessScoring): string | null {
  const { warmUpsSinceClear: warmUps, distanceSinceClearKm: distance } = snapshot.counters;
  if (verdict.incomplete.length < freshClear.incomplete || warmUps === null || warmUps > freshClear.warmUps)
    return null;
  if (distance !== null && distance > freshClear.distanceKm) return null;
  return `${countText(warmUps, 'warm-up')}${distance === null ? '' : ` and ${Math.round(distance)} km`} since`;
}
