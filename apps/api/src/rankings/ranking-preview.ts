import {
  type PreviewPlace,
  type PreviewVehicle,
  parseContract,
  type Ranking,
  type RankingPreview,
  type RankingPreviewRequest,
} from '@tallybay/contracts';
import { type Lake, readRankingInput } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { computeRanking, type RuleSet, ruleVersion } from '@tallybay/risk';
import { type SettingName, settingRow } from '../settings/setting-table.js';

export interface RankingPreviewParts {
  registry: Registry;
  openLake(): Promise<Lake>;
  /** The rules in force. */
  rules(): Promise<RuleSet>;
  /** Complete weeks with data, oldest first. */
  completeWeeks(nowMs: number): Promise<string[]>;
  nowMs(): number;
}

/** What other rules would have made of the past weeks, before anybody saves them. Reads only; nothing is published. */
export class RankingPreviews {
  constructor(private readonly parts: RankingPreviewParts) {}

  /** @throws TallybayError `body_invalid` */
  async run(request: RankingPreviewRequest): Promise<RankingPreview> {
    const before = await this.parts.rules();
    const after = changedRules(before, request);
    const names = (await this.parts.completeWeeks(this.parts.nowMs())).slice(-request.weeks).reverse();
    const weeks: RankingPreview['weeks'] = [];
    const lake = await this.parts.openLake();
    try {
      for (const week of names) weeks.push(await this.week(lake, week, { before, after }));
    } finally {
      lake.close();
    }
    return { ruleVersion: ruleVersion(before), weeks };
  }

  /** The week's facts are read once, wide enough for both sets of limits. */
  private async week(lake: Lake, week: string, { before, after }: { before: RuleSet; after: RuleSet }) {
    const { registry, nowMs } = this.parts;
    const fleet = { depots: await registry.depots.list(), vehicles: await registry.vehicles.list() };
    const rules = { ...before, stages: [...before.stages, ...after.stages] };
    const input = await readRankingInput(lake, fleet, week, { asOfMs: nowMs(), history: [], rules });
    return { week, ...differing(computeRanking(input, before), computeRanking(input, after)) };
  }
}

/** @throws TallybayError `body_invalid` with the place in the document that is wrong */
function changedRules(rules: RuleSet, { weights, stages, exclusions }: RankingPreviewRequest): RuleSet {
  const given = <T>(name: SettingName, document: unknown, standing: T): T =>
    document === undefined ? standing : (parseContract(settingRow(name).schema, document, 'body_invalid') as T);
  return {
    ...rules,
    weights: given('ranking-weights', weights, rules.weights),
    stages: given('heat-stages', stages, rules.stages),
    exclusions: given('ranking-exclusions', exclusions, rules.exclusions),
  };
}

/** Vehicles that the two rankings of one week place differently. Both know the same vehicles. */
export function differing(before: Ranking, after: Ranking): { vehicles: PreviewVehicle[]; unchanged: number } {
  const was = placesOf(before);
  const all = [...placesOf(after)].map(([vehicle, { vehicleClass, place }]): PreviewVehicle => {
    const old = was.get(vehicle)!.place;
    const rankChange = old.rank !== null && place.rank !== null ? old.rank - place.rank : null;
    return { vehicle, vehicleClass, before: old, after: place, rankChange };
  });
  const vehicles = all.filter((row) => !samePlace(row.before, row.after));
  return { vehicles, unchanged: all.length - vehicles.length };
}

/** In the order of the ranking, those without a rank last. */
function placesOf({ ranked, unranked }: Ranking): Map<string, { vehicleClass: string; place: PreviewPlace }> {
  const places = new Map<string, { vehicleClass: string; place: PreviewPlace }>();
  for (const { vehicle, vehicleClass, rank, score } of ranked)
    places.set(vehicle, { vehicleClass, place: { rank, score, cause: null } });
  for (const { vehicle, vehicleClass, causes } of unranked) {
    const cause = causes.map(({ text }) => text).join(' ');
    places.set(vehicle, { vehicleClass, place: { rank: null, score: null, cause } });
  }
  return places;
}

const samePlace = (a: PreviewPlace, b: PreviewPlace): boolean =>
  a.rank === b.rank && a.score === b.score && a.cause === b.cause;
