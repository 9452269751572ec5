import type { CodeStatus } from '@tallybay/contracts';
import type { SnapshotFact } from '../facts.js';
import type { CodesRule } from '../rules/codes.js';
import { type Clear, findClears } from './clears.js';
import { byTime, type CodeHistory, type CodeReturn, codeHistories, returnBetween } from './history.js';

/** Strongest status in the newest snapshot that could show it; without one, how it went away. */
export type CodeStanding = CodeStatus | 'gone' | 'cleared';

/** A clear that took the code away, and the first snapshot after it that showed the code again. */
export interface ClearOfCode {
  clear: Clear;
  backMs: number | null;
}

/** One code of one control module: its histories by status, read together. */
export interface CodeTimeline {
  code: string;
  module: string | null;
  /** One a status in which it was seen. */
  histories: CodeHistory[];
  standing: CodeStanding;
  firstSeenMs: number;
  lastSeenMs: number;
  lastReadMs: number;
  returns: CodeReturn[];
  clears: ClearOfCode[];
}

const BY_STRENGTH = ['confirmed', 'permanent', 'pending'] as const satisfies readonly CodeStatus[];

/**
 * Timelines of a vehicle's codes, by code and module. A code returns when it was cleared and is pending or confirmed again,
 * or when it was confirmed, had gone by itself and is confirmed again. A pending code goes after one drive without the
 * fault and comes with the next that has it: without a clear between, that is no return.
 */
export function codeTimelines(snapshots: readonly SnapshotFact[], rule: CodesRule): CodeTimeline[] {
  const ordered = byTime(snapshots);
  const clears = findClears(ordered, rule);
  const groups = Map.groupBy(codeHistories(ordered, rule), ({ code, module }) => JSON.stringify([code, module]));
  return [...groups.values()].map((histories) => timelineOf(histories, ordered, clears));
}

function timelineOf(
  histories: CodeHistory[],
  ordered: readonly SnapshotFact[],
  clears: readonly Clear[],
): CodeTimeline {
  const { code, module } = histories[0]!;
  const taken = clearsOf(histories, clears);
  return {
    ...{ code, module, histories, standing: standingOf(histories) },
    firstSeenMs: Math.min(...histories.map(({ firstSeenMs }) => firstSeenMs)),
    lastSeenMs: Math.max(...histories.map(({ lastSeenMs }) => lastSeenMs)),
    lastReadMs: Math.max(...histories.map(({ lastReadMs }) => lastReadMs)),
    returns: [...returnsAfterClears(histories, taken, ordered), ...returnsAfterGone(histories)].sort(
      (a, b) => a.atMs - b.atMs,
    ),
    clears: taken,
  };
}

function standingOf(histories: readonly CodeHistory[]): CodeStanding {
  const active = BY_STRENGTH.find((status) => histories.some((history) => history.status === status && history.active));
  if (active) return active;
  const ended = histories.flatMap(({ spans }) => spans).sort((a, b) => (b.endedMs ?? 0) - (a.endedMs ?? 0));
  const last = ended.filter(({ endedMs }) => endedMs === ended[0]?.endedMs);
  return last.some(({ endedBy }) => endedBy === 'cleared') ? 'cleared' : 'gone';
}

const clearable = (histories: readonly CodeHistory[]) => histories.filter(({ status }) => status !== 'permanent');

/** Each span that a clear ended was ended by the first clear after it was last seen; several statuses make one clear. */
function clearsOf(histories: readonly CodeHistory[], clears: readonly Clear[]): ClearOfCode[] {
  const spans = clearable(histories).flatMap((history) => history.spans);
  const taken = clears.filter((clear) =>
    spans.some(
      ({ lastMs, endedBy }) => endedBy === 'cleared' && clears.find(({ afterMs }) => afterMs >= lastMs) === clear,
    ),
  );
  return taken.map((clear, index) => {
    const next = taken[index + 1];
    const starts = spans
      .map(({ fromMs }) => fromMs)
      .filter((ms) => ms >= clear.beforeMs && (!next || ms < next.beforeMs));
    return { clear, backMs: starts.length > 0 ? Math.min(...starts) : null };
  });
}

function returnsAfterClears(
  histories: readonly CodeHistory[],
  taken: readonly ClearOfCode[],
  ordered: readonly SnapshotFact[],
): CodeReturn[] {
  const spans = clearable(histories).flatMap((history) => history.spans);
  return taken.flatMap(({ clear, backMs }) => {
    if (backMs === null) return [];
    const lastMs = Math.max(...spans.map((span) => span.lastMs).filter((ms) => ms <= clear.afterMs));
    const before = ordered.find(({ atMs }) => atMs === lastMs);
    const now = ordered.find(({ atMs }) => atMs === backMs);
    return before && now ? [returnBetween(before, now, 'cleared')] : [];
  });
}

/** Where it was never confirmed, the permanent code tells; a pending one alone does not. */
function returnsAfterGone(histories: readonly CodeHistory[]): CodeReturn[] {
  const telling =
    histories.find(({ status }) => status === 'confirmed') ?? histories.find(({ status }) => status === 'permanent');
  return (telling?.returns ?? []).filter(({ after }) => after === 'gone');
}
