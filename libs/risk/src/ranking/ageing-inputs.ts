import type { Reason } from '@tallybay/contracts';
import type { VehicleHeat } from '../exposure/vehicle-heat.js';
import type { VehicleFacts } from '../facts.js';
import { rounded } from '../figures.js';
import type { AgeingRow } from '../rules/ageing.js';
import type { RuleSet } from '../rules/rule-set.js';
import { type FluidAgeing, fluidAgeing } from '../thermal/fluid-ageing.js';

/** Fluid life used up in the week, for the row's inputs; informs, does not enter the score. Signals without data are absent. */
export const ageingInputs = (facts: VehicleFacts, heat: VehicleHeat, rules: RuleSet): Record<string, unknown> =>
  Object.fromEntries(
    aged(facts, heat, rules).map(({ row, ageing }) => [
      row.signal,
      {
        referenceC: rounded(row.referenceC, 4),
        hoursAbove: rounded(ageing.hoursAbove, 4),
        equivalentHours: rounded(ageing.equivalentHours, 4),
        arrheniusHours: rounded(ageing.arrheniusHours, 4),
        lifeShare: ageing.lifeShare === null ? null : rounded(ageing.lifeShare, 6),
      },
    ]),
  );

/** A sentence for each fluid that aged clearly faster than at its reference. Weight 0: it explains and does not rank. */
export const ageingReasons = (facts: VehicleFacts, heat: VehicleHeat, rules: RuleSet): Reason[] =>
  aged(facts, heat, rules)
    .filter(({ row, ageing }) => ageing.equivalentHours >= row.saidFromFactor * Math.max(ageing.hoursAbove, 0.1))
    .map(({ row, ageing, driveIds }) => ({
      component: 'heat',
      text: ageingText(row, ageing),
      weight: 0,
      evidence: driveIds.map((id) => ({ kind: 'drive' as const, id })),
    }));

function aged(facts: VehicleFacts, heat: VehicleHeat, rules: RuleSet) {
  const speedKmh = heat.distanceKm !== null && heat.engineHours > 0 ? heat.distanceKm / heat.engineHours : null;
  return rules.ageing.flatMap((row) => {
    const usable = heat.signals.find(({ signal, state }) => signal === row.signal && state === 'ok');
    if (!usable) return [];
    const bins = facts.dwell.filter(({ signal }) => signal === row.signal);
    return [{ row, ageing: fluidAgeing(bins, row, speedKmh), driveIds: usable.driveIds }];
  });
}

function ageingText(row: AgeingRow, { hoursAbove, equivalentHours, lifeShare }: FluidAgeing): string {
  const share = lifeShare === null ? '' : ` That is ${shareText(lifeShare)} of its life (${row.lifeText}).`;
  return (
    `${row.label} aged in ${hoursAbove.toFixed(1)} h at or above ${row.referenceC.toFixed(1)} °C as in ` +
    `${equivalentHours.toFixed(1)} h at that temperature.${share}`
  );
}

const shareText = (share: number): string => `${(share * 100).toFixed(share < 0.01 ? 2 : 1)} %`;
