import type { VehicleHeat } from '../exposure/vehicle-heat.js';
import type { VehicleFacts } from '../facts.js';
import { rounded } from '../figures.js';
import type { RuleSet } from '../rules/rule-set.js';
import { fluidAgeing } from '../thermal/fluid-ageing.js';

/** Fluid life used up in the week, for the row's inputs; informs, does not enter the score. Signals without data are absent. */
export function ageingInputs(facts: VehicleFacts, heat: VehicleHeat, rules: RuleSet): Record<string, unknown> {
  const speedKmh = heat.distanceKm !== null && heat.engineHours > 0 ? heat.distanceKm / heat.engineHours : null;
  const rows = rules.ageing.flatMap((row) => {
    const usable = heat.signals.some(({ signal, state }) => signal === row.signal && state === 'ok');
    if (!usable) return [];
    const bins = facts.dwell.filter(({ signal }) => signal === row.signal);
    const ageing = fluidAgeing(bins, row, speedKmh);
    const figures = {
      referenceC: rounded(row.referenceC, 4),
      hoursAbove: rounded(ageing.hoursAbove, 4),
      equivalentHours: rounded(ageing.equivalentHours, 4),
      arrheniusHours: rounded(ageing.arrheniusHours, 4),
      lifeShare: ageing.lifeShare === null ? null : rounded(ageing.lifeShare, 6),
    };
    return [[row.signal, figures] as const];
  });
  return Object.fromEntries(rows);
}
