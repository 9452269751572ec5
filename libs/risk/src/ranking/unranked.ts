import type { Exclusion, UnrankedVehicle } from '@tallybay/contracts';
import { isoDay } from '../calendar/iso-week.js';
import type { VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import { exclusionText, vehicleExclusion } from './exclusions.js';
import { fewHoursText } from './heat-component.js';
import type { JudgedVehicle } from './judge.js';

type Cause = UnrankedVehicle['causes'][number];

/**
 * Why a vehicle cannot be ranked; empty when it can. It cannot when nothing arrived this week, when no component has
 * data, or when it ran too little and nothing speaks against it: "no findings in ten minutes" is not a low risk.
 */
export function unrankedCauses(judged: JudgedVehicle, rules: RuleSet): Cause[] {
  const { facts, heat, components } = judged;
  const leftOut = vehicleExclusion(facts, rules);
  if (leftOut) return [excluded(judged, leftOut)];
  if (!seenInWeek(facts)) return [notSeen(facts, judged)];
  const scores = [components.heat, components.codes, components.readiness].map(({ component }) => component.score);
  const finding = scores.some((score) => score !== null && score > 0);
  const known = scores.some((score) => score !== null);
  const fewHours = heat.engineHours < rules.heat.minEngineHours;
  if (known && (finding || !fewHours)) return [];
  return [...heatCauses(judged, rules), ...snapshotCauses(judged)];
}

/** What is known against it is said all the same: leaving out is no all-clear. */
function excluded({ components }: JudgedVehicle, exclusion: Exclusion): Cause {
  const { heat, codes, readiness } = components;
  const known = [heat, codes, readiness].flatMap(({ reasons }) => reasons.map(({ text }) => text));
  const open = known.length > 0 ? ` Known all the same: ${known.join(' ')}` : '';
  return { code: 'excluded', text: `${exclusionText(exclusion)}${open}` };
}

const seenInWeek = (facts: VehicleFacts): boolean =>
  facts.drives.length > 0 || facts.snapshots.some(({ atMs }) => atMs >= facts.fromMs && atMs < facts.toMs);

function notSeen(facts: VehicleFacts, { components }: JudgedVehicle): Cause {
  const last =
    facts.lastSeenMs === null
      ? 'nothing ever has'
      : `the last data is from ${isoDay(facts.lastSeenMs, facts.timeZone)}`;
  const reasons = components.codes.reasons.map(({ text }) => text);
  const open = reasons.length > 0 ? ` Still open from before: ${reasons.join(' ')}` : '';
  return { code: 'no_upload', text: `Nothing arrived for this week; ${last}.${open}` };
}

function heatCauses({ heat, components }: JudgedVehicle, rules: RuleSet): Cause[] {
  const { state, note } = components.heat.component;
  if (state === 'excluded') return [{ code: 'excluded', text: note ?? 'Heat is left out.' }];
  if (heat.engineHours === 0) return [{ code: 'no_engine_hours', text: 'No drive was recorded this week.' }];
  if (heat.engineHours < rules.heat.minEngineHours)
    return [{ code: 'few_engine_hours', text: fewHoursText(heat, rules.heat) }];
  if (components.heat.component.state === 'bad_sensor')
    return heat.findings.map(({ text }) => ({ code: 'bad_sensor' as const, text }));
  return components.heat.component.score === null
    ? [{ code: 'no_temperature', text: components.heat.component.note ?? 'No temperature was recorded.' }]
    : [];
}

function snapshotCauses({ components }: JudgedVehicle): Cause[] {
  const { score, state, note } = components.codes.component;
  if (score !== null) return [];
  const text = note ?? 'No snapshot.';
  if (state === 'excluded') return [{ code: 'excluded', text }];
  return [{ code: state === 'stale' ? 'stale_snapshot' : 'no_snapshot', text }];
}
