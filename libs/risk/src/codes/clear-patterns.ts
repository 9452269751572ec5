import { countText } from '../figures.js';
import type { CodePatternRule } from '../rules/code-patterns.js';
import type { CodeTimeline } from './timeline.js';

const MS_PER_DAY = 86_400_000;

/** A sign that a code was cleared and its cause was not repaired. */
export interface ClearPattern {
  kind: 'cleared_and_back' | 'cleared_before_inspection';
  code: string;
  module: string | null;
  cleared: number;
  cameBack: number;
  /** When the clears were seen, oldest first. */
  atMs: number[];
  text: string;
}

/**
 * Patterns in one vehicle's code timelines: the same code cleared again and again and back each time (the newest clear may
 * still be open), and confirmed codes cleared shortly before the inspection date.
 * @param inspectionDue `YYYY-MM-DD`, null if not registered
 */
export function clearPatterns(
  timelines: readonly CodeTimeline[],
  inspectionDue: string | null,
  rule: CodePatternRule,
): ClearPattern[] {
  return timelines.flatMap((timeline) => [
    ...clearedAndBack(timeline, rule),
    ...(inspectionDue === null ? [] : beforeInspection(timeline, inspectionDue, rule)),
  ]);
}

function clearedAndBack({ code, module, clears }: CodeTimeline, rule: CodePatternRule): ClearPattern[] {
  const back = clears.filter(({ backMs }) => backMs !== null).length;
  const waiting = clears.at(-1)?.backMs === null ? 1 : 0;
  if (back < rule.leastClearsAndBack || back < clears.length - waiting) return [];
  const last = waiting ? ', not yet after the last one' : '';
  const text = `${code} was cleared ${countText(clears.length, 'time')} and was back each time${last}: clearing does not repair what causes it.`;
  const atMs = clears.map(({ clear }) => clear.beforeMs);
  return [{ kind: 'cleared_and_back', code, module, cleared: clears.length, cameBack: back, atMs, text }];
}

function beforeInspection(timeline: CodeTimeline, due: string, rule: CodePatternRule): ClearPattern[] {
  const dueMs = Date.parse(`${due}T00:00:00Z`);
  const confirmed = timeline.histories.find(({ status }) => status === 'confirmed');
  const near = timeline.clears.filter(
    ({ clear }) =>
      // Both ends of the clear's window count: it may have happened anywhere between them, the due day included.
      clear.beforeMs > dueMs - rule.daysBeforeInspection * MS_PER_DAY &&
      clear.afterMs < dueMs + MS_PER_DAY &&
      confirmed?.spans.some(({ endedBy, lastMs }) => endedBy === 'cleared' && lastMs <= clear.afterMs),
  );
  if (near.length === 0) return [];
  const { code, module } = timeline;
  const back = near.filter(({ backMs }) => backMs !== null).length;
  const state = back === near.length ? 'and is back' : 'and has not been seen since';
  const text = `${code} was cleared within ${rule.daysBeforeInspection} days of the inspection due ${due} ${state}.`;
  const atMs = near.map(({ clear }) => clear.beforeMs);
  return [{ kind: 'cleared_before_inspection', code, module, cleared: near.length, cameBack: back, atMs, text }];
}
