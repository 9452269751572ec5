import type { Component, Exclusion } from '@tallybay/contracts';
import { isoDay } from '../calendar/iso-week.js';
import type { VehicleFacts } from '../facts.js';
import type { RuleSet } from '../rules/rule-set.js';
import type { JudgedVehicle } from './judge.js';

/** The exclusions that hold for a vehicle's week: those that hold on its last day, in a fixed order. */
export function exclusionsInForce(facts: VehicleFacts, rules: Pick<RuleSet, 'exclusions'>): Exclusion[] {
  const lastDay = isoDay(facts.toMs - 1, facts.timeZone);
  return rules.exclusions
    .filter(({ vehicle, from, until }) => vehicle === facts.vehicle.id && from <= lastDay && lastDay <= until)
    .sort((a, b) => (a.until === b.until ? (a.reason < b.reason ? -1 : 1) : a.until < b.until ? 1 : -1));
}

export const exclusionText = ({ reason, until }: Exclusion): string =>
  `Left out until ${until}: ${reason.replace(/[.\s]+$/, '')}.`;

/** The judged vehicle with its excluded components emptied: they keep their inputs and say what they would have shown. */
export function withoutExcluded(judged: JudgedVehicle, rules: RuleSet): JudgedVehicle {
  const components = { ...judged.components };
  for (const exclusion of exclusionsInForce(judged.facts, rules)) {
    const name = exclusion.component;
    if (name === null || components[name].component.state === 'excluded') continue;
    const { component, reasons, inputs } = components[name];
    const shown = reasons.map(({ text }) => text).join(' ');
    const note = `${exclusionText(exclusion)}${shown ? ` It would have shown: ${shown}` : ''}`;
    const empty: Component = { score: null, state: 'excluded', note };
    components[name] = { component: empty, reasons: [], inputs: { ...inputs, excluded: { exclusion, component } } };
  }
  return { ...judged, components };
}

/** The exclusion of the whole vehicle, if one holds. */
export const vehicleExclusion = (facts: VehicleFacts, rules: RuleSet): Exclusion | null =>
  exclusionsInForce(facts, rules).find(({ component }) => component === null) ?? null;
