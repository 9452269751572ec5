import { checkPlan, firstFreeBay, loadSolver, type PlanProblem, solvePlan } from '@tallybay/plan';
import { shopCase } from './shop-case.js';

export interface PlanBenchOptions {
  inspections: number;
  bays: number;
  days: number;
  seconds: number;
  seed: number;
  /** Count the seconds of this process on its core instead of the wall clock's: on a machine that others use as well. */
  cpu: boolean;
  /** People of one trade each. */
  narrow: boolean;
}

export interface PlanBenchResult {
  options: PlanBenchOptions;
  choicesHours: { work: number; open: number };
  plan: number;
  bound: number;
  gap: number;
  leftOut: number;
  late: number;
  seconds: number;
  cpuSeconds: number;
  byRank: number;
  byRankLeftOut: number;
  saved: number;
  violations: number;
  /** When the plan came within 5, 3 and 2 % of the bound [s]. */
  within: Record<string, number | null>;
}

/** One seeded shop, planned; and the same shop by the list: highest cost of waiting first, each into the first free bay. */
export async function runPlanBench(options: PlanBenchOptions): Promise<PlanBenchResult> {
  const highs = await loadSolver();
  const problem = shopCase({ ...options, workingDays: options.days });
  const started = process.cpuUsage();
  const cpuMs = () => {
    const { user, system } = process.cpuUsage(started);
    return (user + system) / 1000;
  };
  const clockMs = options.cpu ? cpuMs : () => performance.now();
  const within: PlanBenchResult['within'] = { '5 %': null, '3 %': null, '2 %': null };
  const onProgress = ({ seconds, cost, bound }: { seconds: number; cost: number; bound: number | null }) => {
    if (bound === null || !Number.isFinite(cost)) return;
    for (const share of Object.keys(within))
      if (cost - bound <= (Number.parseInt(share, 10) / 100) * cost) within[share] ??= seconds;
  };
  const plan = solvePlan(problem, { highs, seconds: options.seconds, clockMs, onProgress });
  const cpuSeconds = cpuMs() / 1000;
  const list = firstFreeBay(problem, byRank(problem));
  return {
    options,
    choicesHours: hours(problem),
    ...{ plan: plan.cost, bound: plan.bound, gap: plan.gap, seconds: plan.seconds, cpuSeconds, within },
    leftOut: plan.leftOut.length,
    late: plan.board.placed.filter((place) => place && isLate(problem, place.demand, place.day)).length,
    byRank: list.cost,
    byRankLeftOut: list.board.placed.filter((place) => place === null).length,
    saved: 1 - plan.cost / list.cost,
    violations: checkPlan(problem, plan.placements, plan.leftOut).length,
  };
}

const byRank = ({ demands }: PlanProblem): number[] =>
  [...demands.keys()].sort((a, b) => demands[b]!.costPerDay - demands[a]!.costPerDay || a - b);

const isLate = ({ demands }: PlanProblem, demand: number, day: number): boolean =>
  day > (demands[demand]!.latest ?? Number.POSITIVE_INFINITY);

function hours({ demands, bays }: PlanProblem): PlanBenchResult['choicesHours'] {
  const open = bays.flatMap(({ days }) => days.map((day) => ('fromMinute' in day ? day.toMinute - day.fromMinute : 0)));
  const sum = (values: readonly number[]) => Math.round(values.reduce((all, value) => all + value, 0) / 60);
  return { work: sum(demands.map(({ minutes }) => minutes)), open: sum(open) };
}

export function describePlan(result: PlanBenchResult): string {
  const { options, choicesHours } = result;
  const clock = options.cpu ? 'CPU seconds' : 'seconds';
  const percent = (share: number) => `${(share * 100).toFixed(2)} %`;
  const reached = Object.entries(result.within)
    .map(([share, seconds]) => `${share}: ${seconds === null ? 'not' : `${seconds.toFixed(1)} s`}`)
    .join(', ');
  return [
    `${options.inspections} inspections (${choicesHours.work} h of work), ${options.bays} bays (${choicesHours.open} h open), ${options.days} working days, seed ${options.seed}`,
    `plan                        ${result.plan.toFixed(1).padStart(10)}   ${result.late} late, ${result.leftOut} left out, ${result.violations} rules broken`,
    `proven bound                ${result.bound.toFixed(1).padStart(10)}   the plan is within ${percent(result.gap)}`,
    `by rank, first free bay     ${result.byRank.toFixed(1).padStart(10)}   ${result.byRankLeftOut} left out; the plan costs ${percent(result.saved)} less`,
    `${result.seconds.toFixed(1)} ${clock} (${result.cpuSeconds.toFixed(1)} CPU s); distance to the bound reached: ${reached}`,
    '',
  ].join('\n');
}
