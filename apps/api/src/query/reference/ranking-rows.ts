import type { Ranking } from '@tallybay/contracts';
import type { ReferenceRow } from '@tallybay/lake';

/** One ranking as rows: those with a rank, then those that could not be ranked and why. */
export function rankingRows(ranking: Ranking, newest: boolean): ReferenceRow<'rankings'>[] {
  const { week, revision, provisional, ruleVersion } = ranking;
  const shared = { week, revision, newest, provisional, rule_version: ruleVersion };
  const ranked = ranking.ranked.map((row) => ({
    ...shared,
    ...{ rank: row.rank, vehicle_id: row.vehicle, vehicle_class: row.vehicleClass, depot: row.depot, score: row.score },
    route: row.route ?? null,
    ...{ heat: row.heat.score, codes: row.codes.score, readiness: row.readiness.score },
    ...{ engine_hours: row.coverage.engineHours, distance_km: row.coverage.distanceKm, drives: row.coverage.drives },
    ...{ coverage: row.coverage.share, why: row.reasons.map(({ text }) => text).join(' ') },
  }));
  const nothing = { rank: null, score: null, heat: null, codes: null, readiness: null };
  const unranked = ranking.unranked.map((row) => ({
    ...shared,
    ...nothing,
    ...{ vehicle_id: row.vehicle, vehicle_class: row.vehicleClass, depot: row.depot, engine_hours: null },
    route: row.route ?? null,
    ...{ distance_km: null, drives: null, coverage: null, why: row.causes.map(({ text }) => text).join(' ') },
  }));
  return [...ranked, ...unranked];
}
