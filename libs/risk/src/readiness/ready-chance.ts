import type { MonitorId, Vehicle } from '@tallybay/contracts';
import { byTime } from '../codes/history.js';
import type { SnapshotFact } from '../facts.js';
import type { Programme } from '../rules/readiness.js';
import type { Chance, ReadinessForecast } from './forecast.js';
import { judgeMonitors } from './rules.js';
import { fuelOf } from './verdict.js';

/**
 * Chance that so few monitors are incomplete by the forecast's date that a programme's rule on monitors is met. Monitors are
 * taken as independent of each other, which they are not quite: one long drive completes several. The ends of the interval
 * are those with every monitor at its own low, or high, end: wider than 90 %.
 * @returns null when the programme has no such rule, the vehicle is not subject, or a monitor that counts has no forecast
 */
export function chanceToBeReady(
  programme: Programme,
  vehicle: Vehicle,
  snapshots: readonly SnapshotFact[],
  forecast: ReadinessForecast,
): Chance | null {
  const fuel = fuelOf(vehicle, byTime(snapshots));
  if (!programme.monitors || vehicle.modelYear === undefined || !fuel) return null;
  const open = forecast.monitors.map(({ monitor }) => monitor);
  const { row } = judgeMonitors(programme.monitors, { modelYear: vehicle.modelYear, fuel }, open);
  if (!row) return null;
  const { allowed } = row;
  const counted = (monitor: MonitorId) => 'count' in allowed || !allowed.only.includes(monitor);
  const chances = forecast.monitors.filter(({ monitor }) => counted(monitor)).map(({ chance }) => chance);
  const spare = 'count' in allowed ? allowed.count : 0;
  if (chances.length <= spare) return { chance: 1, low: 1, high: 1 };
  const known = chances.filter((chance): chance is Chance => chance !== null);
  if (known.length < chances.length) return null;
  const ready = (end: keyof Chance) =>
    atMostOpen(
      known.map((chance) => chance[end]),
      spare,
    );
  return { chance: ready('chance'), low: ready('low'), high: ready('high') };
}

/** Chance that at most `spare` of independent monitors stay open (Poisson binomial, by adding one at a time). */
function atMostOpen(completes: readonly number[], spare: number): number {
  let openCounts = [1];
  for (const chance of completes)
    openCounts = Array.from(
      { length: openCounts.length + 1 },
      (_, open) => (openCounts[open] ?? 0) * chance + (openCounts[open - 1] ?? 0) * (1 - chance),
    );
  return Math.min(
    1,
    openCounts.slice(0, spare + 1).reduce((sum, chance) => sum + chance, 0),
  );
}
