import { computeRanking, shiftWeek, type VehicleFacts, weekWindow } from '@tallybay/risk';
import type { ResolvedOptions } from '@tallybay/synthetic-fleet';
import type { EvalVehicle } from './fleet/eval-vehicle.js';
import { weekFacts } from './fleet/week-facts.js';
import { PLAIN_RANKINGS } from './measures/plain-rankings.js';
import { truthOfWeek } from './measures/truth-of-week.js';
import { type FaultCase, isCalled, type SeedResult, type VehicleWeek } from './measures/vehicle-week.js';

const MS_PER_DAY = 86_400_000;
/** A breakdown so long after the last week can still be warned of in it. */
const AFTER_WINDOW_MS = 7 * MS_PER_DAY;

/** Where a week's facts come from: memory, or a lake that the logs went through. */
export type FactsOf = (week: string) => Promise<VehicleFacts[]>;

export const factsFromMemory =
  (fleet: readonly EvalVehicle[]): FactsOf =>
  async (week) =>
    fleet.map((vehicle) => weekFacts(vehicle, week));

/** Ranks every week of one fleet and holds it against the truth. */
export async function runSeed(
  options: ResolvedOptions,
  truths: readonly EvalVehicle['truth'][],
  factsOf: FactsOf,
): Promise<SeedResult> {
  const seed = Number(options.seed);
  const names = Array.from({ length: options.weeks }, (_, index) => shiftWeek(options.start, index));
  const weeks: VehicleWeek[] = [];
  for (const week of names) weeks.push(...rankWeek({ seed, week, truths }, await factsOf(week)));
  const lastMs = weekWindow(names.at(-1)!, 'UTC').toMs;
  const faults = truths.flatMap((truth) => faultCases(truth, { seed, weeks, lastMs }));
  return { seed, weeks, faults };
}

function rankWeek(
  { seed, week, truths }: { seed: number; week: string; truths: readonly EvalVehicle['truth'][] },
  facts: readonly VehicleFacts[],
): VehicleWeek[] {
  const input = { week, timeZone: 'UTC', revision: 1, provisional: false, vehicles: [...facts], previous: null };
  const ranking = computeRanking(input);
  const ranked = new Map(ranking.ranked.map((row) => [row.vehicle, row]));
  return facts.map((vehicle) => {
    const { id } = vehicle.vehicle;
    const row = ranked.get(id);
    const reason = row?.reasons.find(({ component }) => component === 'heat')?.text;
    const plain = Object.fromEntries(Object.entries(PLAIN_RANKINGS).map(([name, score]) => [name, score(vehicle)]));
    return {
      ...{ seed, week, vehicle: id, heat: row?.heat.score ?? null, score: row?.score ?? null },
      said: reason ?? row?.heat.note ?? ranking.unranked.find((item) => item.vehicle === id)?.causes[0]?.text ?? '',
      plain: plain as VehicleWeek['plain'],
      truth: truthOfWeek(truths.find((truth) => truth.id === id)!, week),
    };
  });
}

/** Faults that break the vehicle down within the weeks or just after them. */
function faultCases(
  truth: EvalVehicle['truth'],
  { seed, weeks, lastMs }: { seed: number; weeks: readonly VehicleWeek[]; lastMs: number },
): FaultCase[] {
  const endOf = (week: string) => weekWindow(week, truth.timeZone).toMs;
  return truth.faults
    .filter(({ overheats, breakdown }) => overheats && Date.parse(breakdown) < lastMs + AFTER_WINDOW_MS)
    .map(({ kind, start, breakdown }) => {
      const breakdownMs = Date.parse(breakdown);
      const growing = weeks.filter(
        ({ vehicle, week }) => vehicle === truth.id && endOf(week) > Date.parse(start) && endOf(week) <= breakdownMs,
      );
      const first = growing.find(isCalled);
      const scores = growing.flatMap(({ heat }) => (heat === null ? [] : [heat]));
      return {
        ...{ seed, vehicle: truth.id, kind, breakdown },
        warningDays: first ? (breakdownMs - endOf(first.week)) / MS_PER_DAY : null,
        bestHeat: scores.length > 0 ? Math.max(...scores) : null,
        engineHours: truth.weeks
          .filter(({ week }) => growing.some((row) => row.week === week))
          .reduce((sum, { engineHours }) => sum + engineHours, 0),
      };
    });
}
