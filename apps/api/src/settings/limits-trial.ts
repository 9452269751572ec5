import {
  type LimitsTrial,
  type LimitsTrialRequest,
  parseContract,
  type RankedVehicle,
  type Ranking,
} from '@tallybay/contracts';
import { Lake, readRankingInput } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { computeRanking, type RuleSet, STAGE_NAMES } from '@tallybay/risk';
import { SETTINGS } from './setting-table.js';

const SECONDS_A_MINUTE = 60;

type Side = LimitsTrial['vehicles'][number]['before'];

/** Limits tried on a past week before anybody saves them. Reads only; nothing is published. */
export class LimitsTrials {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
  ) {}

  /** @throws TallybayError `body_invalid`, `week_invalid` */
  async run(request: LimitsTrialRequest): Promise<LimitsTrial> {
    const stages = parseContract(SETTINGS['heat-stages'].schema, request.stages, 'body_invalid') as RuleSet['stages'];
    const rules = await this.rules();
    const before = await this.ranking(request.week, rules);
    const after = await this.ranking(request.week, { ...rules, stages });
    const vehicles = new Map([...rowsOf(before), ...rowsOf(after)].map((row) => [row.vehicle, row]));
    const was = byVehicle(before);
    const is = byVehicle(after);
    return {
      week: request.week,
      vehicles: [...vehicles.values()]
        .map(({ vehicle, vehicleClass }) => ({
          ...{ vehicle, vehicleClass },
          before: sideOf(was.get(vehicle)),
          after: sideOf(is.get(vehicle)),
        }))
        .sort((a, b) => (a.after.rank ?? Infinity) - (b.after.rank ?? Infinity) || (a.vehicle < b.vehicle ? -1 : 1)),
    };
  }

  private async ranking(week: string, rules: RuleSet): Promise<Ranking> {
    const fleet = { depots: await this.registry.depots.list(), vehicles: await this.registry.vehicles.list() };
    const lake = await Lake.open(this.lakeDirectory);
    try {
      return computeRanking(await readRankingInput(lake, fleet, week, { asOfMs: this.nowMs(), rules }), rules);
    } finally {
      lake.close();
    }
  }
}

const rowsOf = (ranking: Ranking) => [...ranking.ranked, ...ranking.unranked];
const byVehicle = (ranking: Ranking) => new Map(ranking.ranked.map((row) => [row.vehicle, row]));

function sideOf(row: RankedVehicle | undefined): Side {
  if (!row) return { rank: null, score: null, minutes: {} };
  const heat = row.inputs.heat as {
    signals?: Record<string, { stages?: { stage: string; seconds: number }[] }>;
  } | null;
  const stages = Object.values(heat?.signals ?? {}).flatMap((signal) => signal.stages ?? []);
  const minutes = STAGE_NAMES.map((name) => {
    const seconds = stages.filter(({ stage }) => stage === name).reduce((sum, stage) => sum + stage.seconds, 0);
    return [name, Math.round((seconds / SECONDS_A_MINUTE) * 10) / 10] as const;
  });
  return { rank: row.rank, score: row.score, minutes: Object.fromEntries(minutes.filter(([, value]) => value > 0)) };
}
