import type { CodeStatus, Reason } from '@tallybay/contracts';
import { type CodeHistory, returnsWithin } from '../codes/history.js';
import { type CodeTimeline, codeTimelines } from '../codes/timeline.js';
import type { VehicleFacts } from '../facts.js';
import { countText, rounded, roundedOrNull } from '../figures.js';
import { repairBefore } from '../repairs/since-repair.js';
import type { RuleSet } from '../rules/rule-set.js';
import { severityOf } from '../rules/severities.js';
import type { ComponentResult } from './heat-component.js';

const MS_PER_DAY = 86_400_000;

interface JudgedCode {
  code: string;
  module: string | null;
  /** Strongest status in which it is active; null = gone, but it came back lately. */
  active: CodeStatus | null;
  severity: number;
  text: string;
  returns: { within30: number; within90: number; within365: number };
  lastReturn: CodeHistory['returns'][number] | null;
  histories: CodeHistory[];
  /** 0..1 */
  part: number;
}

/**
 * Codes score of one vehicle as of the end of its week: 1 - product of (1 - part), part = severity x status weight, and
 * each return counts as if the code were there once more. Null when no snapshot read codes, or the newest is too old.
 */
export function codesComponent(facts: VehicleFacts, rules: RuleSet): ComponentResult {
  const reading = facts.snapshots.filter(({ read }) => read.pending || read.confirmed || read.permanent);
  const newestMs = reading.reduce<number | null>((max, { atMs }) => Math.max(max ?? atMs, atMs), null);
  if (newestMs === null) return without('no_data', 'No snapshot that read codes has arrived.', []);
  const judged = judgeCodes(facts, rules);
  const days = (facts.toMs - newestMs) / MS_PER_DAY;
  if (days > rules.codes.staleDays) {
    const active = judged.filter(({ active }) => active !== null).map(({ code }) => code);
    const last = active.length > 0 ? `; then active: ${[...new Set(active)].join(', ')}` : '; no codes then';
    const text = `The newest snapshot that read codes is ${Math.floor(days)} days old (limit ${rules.codes.staleDays})${last}.`;
    return without('stale', text, judged);
  }
  const score = 1 - judged.reduce((left, { part }) => left * (1 - part), 1);
  return {
    component: { score: rounded(score, 6), state: 'ok', note: null },
    reasons: judged.filter(({ part }) => part > 0).map((item) => reasonOf(item, facts.repairs)),
    inputs: inputsOf(judged, days),
  };
}

function without(state: 'no_data' | 'stale', note: string, judged: readonly JudgedCode[]): ComponentResult {
  return { component: { score: null, state, note }, reasons: [], inputs: inputsOf(judged, null) };
}

function judgeCodes(facts: VehicleFacts, rules: RuleSet): JudgedCode[] {
  return codeTimelines(facts.snapshots, rules.codes)
    .map((timeline) => judgeCode(timeline, facts.toMs, rules))
    .sort((a, b) => b.part - a.part || (a.code < b.code ? -1 : a.code > b.code ? 1 : 0));
}

function judgeCode(timeline: CodeTimeline, asOfMs: number, rules: RuleSet): JudgedCode {
  const { code, module, histories } = timeline;
  const { severity, text } = severityOf(rules.severities, code);
  const weights = rules.codes.statusWeights;
  const active = histories
    .filter((history) => history.active)
    .map((history) => history.status)
    .sort((a, b) => weights[b] - weights[a])[0];
  const within = (days: number) => returnsWithin(timeline, asOfMs, days);
  const returns = { within30: within(30), within90: within(90), within365: within(365) };
  const lastReturn = timeline.returns.at(-1) ?? null;
  const weight = active ? weights[active] : returns.within90 > 0 ? rules.codes.dormantWeight : 0;
  const { within30, within90, within365 } = rules.codes.returnWeights;
  const repeats =
    within30 * returns.within30 +
    within90 * (returns.within90 - returns.within30) +
    within365 * (returns.within365 - returns.within90);
  const part = 1 - (1 - severity * weight) ** (1 + repeats);
  return { code, module, active: active ?? null, severity, text, returns, lastReturn, histories, part };
}

function reasonOf(judged: JudgedCode, repairs: VehicleFacts['repairs']): Reason {
  const evidence = [
    { kind: 'code' as const, id: judged.code },
    ...[...new Set(judged.histories.flatMap(({ uploadIds }) => uploadIds))].map((id) => ({
      kind: 'upload' as const,
      id,
    })),
  ];
  const where = judged.module ? ` in ${judged.module}` : '';
  const state = judged.active ? `is ${judged.active}` : 'is gone at the moment';
  const text = `${judged.code} (${judged.text})${where} ${state}${returnText(judged)}${repairText(judged, repairs)}.`;
  return { component: 'codes', text, weight: rounded(judged.part, 6), evidence };
}

function repairText({ histories, lastReturn }: JudgedCode, repairs: VehicleFacts['repairs']): string {
  if (!lastReturn) return '';
  const firstSeenMs = Math.min(...histories.map((history) => history.firstSeenMs));
  const repair = repairBefore(repairs, { firstSeenMs, returnedMs: lastReturn.atMs });
  return repair
    ? `; it returned after the repair of ${new Date(repair.atMs).toISOString().slice(0, 10)} (${repair.label})`
    : '';
}

function returnText({ returns, lastReturn }: JudgedCode): string {
  if (returns.within365 === 0 || !lastReturn) return '';
  const [count, days] = returns.within90 > 0 ? [returns.within90, 90] : [returns.within365, 365];
  const how = lastReturn.after === 'cleared' ? 'after it was cleared' : 'after it was gone';
  const distance = lastReturn.distanceKm === null ? '' : `, ${Math.round(lastReturn.distanceKm)} km`;
  const times = count === 1 ? 'came back once' : `came back ${count} times`;
  return `; ${times} in ${days} days, last ${how} (${countText(Math.round(lastReturn.days), 'day')}${distance} after it was last seen)`;
}

function inputsOf(judged: readonly JudgedCode[], newestSnapshotDays: number | null): Record<string, unknown> {
  return {
    newestSnapshotDays: roundedOrNull(newestSnapshotDays, 2),
    codes: judged.map(({ code, module, active, severity, returns, part, histories }) => ({
      ...{ code, module, active, severity, returns },
      part: rounded(part, 6),
      firstSeen: new Date(Math.min(...histories.map(({ firstSeenMs }) => firstSeenMs))).toISOString(),
      lastSeen: new Date(Math.max(...histories.map(({ lastSeenMs }) => lastSeenMs))).toISOString(),
    })),
  };
}
