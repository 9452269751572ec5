import type { CodeStatus } from '@tallybay/contracts';
import type { SnapshotFact } from '../facts.js';
import type { CodesRule } from '../rules/codes.js';
import { type Clear, findClears } from './clears.js';

/** A stretch in which every snapshot that could show the code did show it. */
export interface CodeSpan {
  fromMs: number;
  /** Last snapshot that showed it. */
  lastMs: number;
  /** First reading snapshot without it, or first one after a clear; null = still there. */
  endedMs: number | null;
  endedBy: 'gone' | 'cleared' | null;
}

/** The code was there, was gone or cleared, and is there again. */
export interface CodeReturn {
  atMs: number;
  after: 'gone' | 'cleared';
  days: number;
  /** From the odometer; null = not recorded at both ends. */
  distanceKm: number | null;
  /** Warm-ups counted since the clear when it was seen again; null unless it was cleared. */
  warmUps: number | null;
}

/** History of one code of one control module in one status. */
export interface CodeHistory {
  code: string;
  module: string | null;
  status: CodeStatus;
  spans: CodeSpan[];
  returns: CodeReturn[];
  firstSeenMs: number;
  lastSeenMs: number;
  /** Newest snapshot that could show it. */
  lastReadMs: number;
  /** Present in the newest snapshot that could show it. */
  active: boolean;
  /** Uploads of the newest snapshot that showed it, and of those where it returned. */
  uploadIds: string[];
}

const STATUSES = ['confirmed', 'permanent', 'pending'] as const satisfies readonly CodeStatus[];
const MS_PER_DAY = 86_400_000;

/**
 * Every code's history from a vehicle's snapshots. A snapshot that did not read a status, or not of the code's module, says
 * nothing about the code: it neither ends a span nor makes a code active. Permanent codes survive a clear, so a clear does
 * not end their span. Sorted by code, module, status.
 */
export function codeHistories(snapshots: readonly SnapshotFact[], rule: CodesRule): CodeHistory[] {
  const ordered = byTime(snapshots);
  const clears = findClears(ordered, rule);
  return STATUSES.flatMap((status) => {
    const reading = ordered.filter((snapshot) => snapshot.read[status]);
    const keys = new Set(reading.flatMap((snapshot) => keysOf(snapshot, status)));
    return [...keys].map((key) => historyOf(key, status, reading, status === 'permanent' ? [] : clears));
  }).sort(byCode);
}

/** Oldest first; snapshots of one instant by upload, so that the order in which they arrived does not matter. */
export const byTime = (snapshots: readonly SnapshotFact[]): SnapshotFact[] =>
  [...snapshots].sort((a, b) => a.atMs - b.atMs || (a.uploadId < b.uploadId ? -1 : 1));

/**
 * Whether a snapshot could have shown a code of this module and status. Where it lists the modules that answered, it speaks
 * of those alone; of a code whose module nobody noted only a reading of the whole vehicle can speak.
 */
export function speaksOf(snapshot: SnapshotFact, status: CodeStatus, module: string | null): boolean {
  if (!snapshot.read[status]) return false;
  const modules = snapshot.modulesRead?.[status];
  return modules === undefined || (module !== null && modules.includes(module));
}

/**
 * Codes of one status that the newest snapshot that could show each does show, sorted; null = the status was never read.
 * @param ordered oldest first
 */
export function codesNow(ordered: readonly SnapshotFact[], status: CodeStatus): string[] | null {
  const reading = ordered.filter(({ read }) => read[status]);
  if (reading.length === 0) return null;
  const shown = [...new Set(reading.flatMap((snapshot) => keysOf(snapshot, status)))].filter((key) => {
    const [, module] = JSON.parse(key) as [string, string | null];
    const shows = (snapshot: SnapshotFact) => keysOf(snapshot, status).includes(key);
    const newest = reading.findLast((snapshot) => shows(snapshot) || speaksOf(snapshot, status, module));
    return newest !== undefined && shows(newest);
  });
  return [...new Set(shown.map((key) => (JSON.parse(key) as [string])[0]))].sort();
}

/** Returns with `atMs` in (asOfMs - days, asOfMs]. */
export const returnsWithin = (history: Pick<CodeHistory, 'returns'>, asOfMs: number, days: number): number =>
  history.returns.filter(({ atMs }) => atMs <= asOfMs && atMs > asOfMs - days * MS_PER_DAY).length;

function historyOf(
  key: string,
  status: CodeStatus,
  reading: readonly SnapshotFact[],
  clears: readonly Clear[],
): CodeHistory {
  const [code, module] = JSON.parse(key) as [string, string | null];
  const history: CodeHistory = {
    ...{ code, module, status, spans: [], returns: [], firstSeenMs: 0, lastSeenMs: 0, lastReadMs: 0 },
    ...{ active: false, uploadIds: [] },
  };
  let lastShown: SnapshotFact | null = null;
  for (const snapshot of reading) {
    const shown = keysOf(snapshot, status).includes(key);
    if (!shown && !speaksOf(snapshot, status, module)) continue;
    history.lastReadMs = snapshot.atMs;
    endSpan(history, { snapshot, shown, lastShown, clears });
    if (!shown) continue;
    show(history, snapshot, lastShown);
    lastShown = snapshot;
  }
  history.active = history.spans.at(-1)?.endedMs === null;
  if (lastShown) history.uploadIds.push(lastShown.uploadId);
  history.uploadIds = [...new Set(history.uploadIds)];
  return history;
}

/** A clear counts for a span that it may have ended: it came after the code was last seen and not after it was missed. */
function endSpan(
  history: CodeHistory,
  at: { snapshot: SnapshotFact; shown: boolean; lastShown: SnapshotFact | null; clears: readonly Clear[] },
): void {
  const open = history.spans.at(-1);
  const { snapshot, shown, lastShown } = at;
  if (!open || !lastShown) return;
  const missedMs = open.endedMs ?? snapshot.atMs;
  const cleared = at.clears.some(
    ({ afterMs, beforeMs }) => afterMs >= lastShown.atMs && afterMs < missedMs && beforeMs <= snapshot.atMs,
  );
  if (open.endedMs === null && (!shown || cleared)) {
    open.endedMs = snapshot.atMs;
    open.endedBy = cleared ? 'cleared' : 'gone';
  } else if (open.endedBy === 'gone' && cleared) open.endedBy = 'cleared';
}

function show(history: CodeHistory, snapshot: SnapshotFact, before: SnapshotFact | null): void {
  const span = history.spans.at(-1);
  history.lastSeenMs = snapshot.atMs;
  if (span && span.endedMs === null) {
    span.lastMs = snapshot.atMs;
    return;
  }
  if (!span) history.firstSeenMs = snapshot.atMs;
  history.spans.push({ fromMs: snapshot.atMs, lastMs: snapshot.atMs, endedMs: null, endedBy: null });
  if (!before || !span?.endedBy) return;
  history.uploadIds.push(snapshot.uploadId);
  history.returns.push(returnBetween(before, snapshot, span.endedBy));
}

/** The code was last seen in `before` and is there again in `now`. */
export const returnBetween = (before: SnapshotFact, now: SnapshotFact, after: 'gone' | 'cleared'): CodeReturn => ({
  atMs: now.atMs,
  after,
  days: (now.atMs - before.atMs) / MS_PER_DAY,
  distanceKm: difference(now.odometerKm, before.odometerKm),
  warmUps: after === 'cleared' ? now.counters.warmUpsSinceClear : null,
});

const difference = (now: number | null, before: number | null): number | null =>
  now === null || before === null ? null : now - before;

const keysOf = (snapshot: SnapshotFact, status: CodeStatus): string[] =>
  snapshot.codes.filter((code) => code.status === status).map(({ code, module }) => JSON.stringify([code, module]));

const byCode = (a: CodeHistory, b: CodeHistory): number =>
  compare(a.code, b.code) || compare(a.module ?? '', b.module ?? '') || compare(a.status, b.status);

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
