import type { Reason } from '@tallybay/contracts';
import type { VehicleFacts } from '../facts.js';
import { rounded } from '../figures.js';
import { type HiddenClear, hiddenClear } from '../readiness/hidden-clear.js';
import { type ReadinessVerdict, readinessVerdict } from '../readiness/verdict.js';
import type { Programme, ReadinessScoring } from '../rules/readiness.js';
import type { RuleSet } from '../rules/rule-set.js';
import type { ComponentResult } from './heat-component.js';

const MS_PER_DAY = 86_400_000;

const VERDICT_TEXT: Record<ReadinessVerdict['verdict'], string> = {
  would_pass: 'would pass',
  would_be_refused: 'would be refused as not ready',
  would_fail: 'would fail',
  not_enough_data: 'not enough data',
  not_subject: 'not subject',
};

/**
 * Readiness score of one vehicle as of the end of its week: what its inspection would say, by how near the date is.
 * Null when the readings do not suffice or are too old.
 * @throws RangeError when the rule set names a programme that it does not contain
 */
export function readinessComponent(facts: VehicleFacts, rules: RuleSet): ComponentResult {
  const programme = programmeOf(rules);
  const scoring = rules.readiness;
  const verdict = readinessVerdict(programme, facts.vehicle, facts.snapshots);
  const clear = hiddenClear(facts.snapshots, { verdict, asOfMs: facts.toMs }, rules);
  const inputs = {
    ...{
      programme: programme.id,
      verdict: verdict.verdict,
      blocking: verdict.blocking,
      incomplete: verdict.incomplete,
    },
    hiddenClear: clear?.text ?? null,
    inspectionDue: facts.vehicle.inspectionDue ?? null,
  };
  if (verdict.verdict === 'not_subject')
    return { component: { score: 0, state: 'ok', note: verdict.why.join(' ') }, reasons: [], inputs };
  if (verdict.verdict === 'not_enough_data')
    return { component: { score: null, state: 'no_data', note: verdict.why.join(' ') }, reasons: [], inputs };
  const ageDays = verdict.snapshot ? (facts.toMs - verdict.snapshot.atMs) / MS_PER_DAY : 0;
  if (ageDays > scoring.staleDays) {
    const note = `The reading is ${Math.floor(ageDays)} days old (limit ${scoring.staleDays}); then it ${VERDICT_TEXT[verdict.verdict]}.`;
    return { component: { score: null, state: 'stale', note }, reasons: [], inputs };
  }
  const urgency = urgencyOf(facts, scoring);
  const found = verdictScore(verdict, scoring);
  const concealed = clear ? scoring.hiddenClear : 0;
  const reasons = [
    ...(found > 0 ? [verdictReason(verdict, programme, { weight: found * urgency.share, due: urgency.text })] : []),
    ...(clear ? [clearReason(clear, concealed * urgency.share)] : []),
  ];
  const score = (1 - (1 - found) * (1 - concealed)) * urgency.share;
  return { component: { score: rounded(score, 6), state: 'ok', note: null }, reasons, inputs };
}

function programmeOf(rules: RuleSet): Programme {
  const programme = rules.programmes.find(({ id }) => id === rules.readiness.programme);
  if (!programme) throw new RangeError(`no programme "${rules.readiness.programme}" in rule set "${rules.name}"`);
  return programme;
}

function verdictScore(verdict: ReadinessVerdict, scoring: ReadinessScoring): number {
  if (verdict.verdict === 'would_fail') return scoring.verdicts.wouldFail;
  if (verdict.verdict === 'would_be_refused') return scoring.verdicts.wouldBeRefused;
  return Math.min(scoring.verdicts.wouldBeRefused, scoring.verdicts.perIncompleteMonitor * verdict.incomplete.length);
}

function urgencyOf(facts: VehicleFacts, scoring: ReadinessScoring): { share: number; text: string } {
  const due = facts.vehicle.inspectionDue;
  if (due === undefined) return { share: scoring.urgencyUnknown, text: '' };
  const days = (Date.parse(`${due}T00:00:00Z`) - facts.toMs) / MS_PER_DAY;
  const share = scoring.urgency.find(({ withinDays }) => days <= withinDays)?.share ?? scoring.urgencyLater;
  return { share, text: days < 0 ? `; the inspection was due on ${due}` : `; inspection due ${due}` };
}

function verdictReason(
  verdict: ReadinessVerdict,
  programme: Programme,
  { weight, due }: { weight: number; due: string },
): Reason {
  const why = verdict.why.join(' ').replace(/\.$/, '');
  const text = `Emissions inspection ${VERDICT_TEXT[verdict.verdict]} under "${programme.label}": ${why}${due}.`;
  const evidence = verdict.snapshot ? [{ kind: 'snapshot' as const, id: verdict.snapshot.uploadId }] : [];
  return { component: 'readiness', text, weight: rounded(weight, 6), evidence };
}

function clearReason(clear: HiddenClear, weight: number): Reason {
  const evidence = [{ kind: 'snapshot' as const, id: clear.uploadId }];
  return { component: 'readiness', text: clear.text, weight: rounded(weight, 6), evidence };
}
