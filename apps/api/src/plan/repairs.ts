import type { InspectionKind } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import type { RepairFact } from '@tallybay/risk';

/**
 * What was done in the shop, by vehicle: the facts from which a ranking starts exposure anew and calls a code that comes
 * back what it is. A kind that heat asks for is a repair of heat.
 */
export async function repairsOf(
  registry: Registry,
  kinds: readonly InspectionKind[],
): Promise<Map<string, RepairFact[]>> {
  const ofHeat = new Set(
    kinds.filter(({ askedBy }) => askedBy.some(({ source }) => source === 'heat')).map(({ id }) => id),
  );
  const done = (await registry.work.visits()).filter(({ state, doneAtMs }) => state === 'done' && doneAtMs !== null);
  const facts = done.map(({ vehicle, doneAtMs, inspections }) => ({
    vehicle,
    fact: {
      atMs: doneAtMs!,
      label: inspections.map(({ label }) => label).join('; '),
      heat: inspections.some(({ kind }) => ofHeat.has(kind)),
    },
  }));
  const byVehicle = Map.groupBy(facts, ({ vehicle }) => vehicle);
  return new Map([...byVehicle].map(([vehicle, rows]) => [vehicle, rows.map(({ fact }) => fact)]));
}
