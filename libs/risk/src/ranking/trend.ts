import type { Ranking } from '@tallybay/contracts';
import { weekWindow } from '../calendar/iso-week.js';
import { rounded } from '../figures.js';
import { theilSenSlope } from '../stats/trend.js';

/** Weeks that a trend looks back over, this one included. */
export const TREND_WEEKS = 8;
/** Fewer weeks than this say nothing. */
const LEAST_WEEKS = 3;
/** Scores that move less than this a week are steady. */
const STEADY_PER_WEEK = 0.02;
const MS_PER_WEEK = 7 * 86_400_000;

export interface ScoreTrend {
  /** Oldest first; weeks in which the vehicle was not ranked are absent, not zero. */
  weeks: {
    week: string;
    rank: number;
    score: number;
    heat: number | null;
    codes: number | null;
    readiness: number | null;
  }[];
  direction: 'rising' | 'falling' | 'steady' | 'unknown';
  /** Median slope of the score per week (Theil-Sen); null with too few weeks. */
  slopePerWeek: number | null;
}

/**
 * How a vehicle's published scores moved over the last weeks.
 * @param history earlier rankings, any order; several revisions of a week: the newest counts
 */
export function scoreTrend(history: readonly Ranking[], current: Ranking, vehicle: string): ScoreTrend {
  const thisWeek = weekNumber(current.week);
  const newest = new Map<string, Ranking>();
  for (const ranking of history) {
    const age = thisWeek - weekNumber(ranking.week);
    const known = newest.get(ranking.week);
    if (age > 0 && age < TREND_WEEKS && (!known || known.revision < ranking.revision))
      newest.set(ranking.week, ranking);
  }
  const rankings = [...newest.values(), current].sort((a, b) => weekNumber(a.week) - weekNumber(b.week));
  const weeks = rankings.flatMap((ranking) => {
    const row = ranking.ranked.find((item) => item.vehicle === vehicle);
    if (!row) return [];
    const parts = { heat: row.heat.score, codes: row.codes.score, readiness: row.readiness.score };
    return [{ week: ranking.week, rank: row.rank, score: row.score, ...parts }];
  });
  const points = weeks.map(({ week, score }) => ({ x: weekNumber(week), y: score }));
  const slope = points.length >= LEAST_WEEKS ? theilSenSlope(points) : null;
  return { weeks, direction: directionOf(slope), slopePerWeek: slope === null ? null : rounded(slope, 6) };
}

function directionOf(slope: number | null): ScoreTrend['direction'] {
  if (slope === null) return 'unknown';
  if (Math.abs(slope) < STEADY_PER_WEEK) return 'steady';
  return slope > 0 ? 'rising' : 'falling';
}

const weekNumber = (week: string): number => Math.round(weekWindow(week, 'UTC').fromMs / MS_PER_WEEK);
