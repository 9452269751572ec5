// Theil-Sen slope: median of pairwise slopes (Sen 1968, from memory).
import type { Ranking } from '@tallybay/contracts';
import { computeRanking, scoreTrend, shiftWeek, theilSenSlope } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { healthySnapshot, rankingInput, vehicleFacts, WEEK } from '../facts-builder.js';

const ranking = (weeksAgo: number, minutes: number | null, revision = 1): Ranking => {
  const facts = vehicleFacts({
    id: 'v',
    snapshots: [healthySnapshot()],
    driveHours: minutes === null ? [] : [2, 2],
    stretches: [[{ signal: 'coolant_temp_c', atC: 111, minutes: minutes ?? 0 }]],
  });
  const input = rankingInput(minutes === null ? [] : [facts]);
  return { ...computeRanking(input), week: shiftWeek(WEEK, -weeksAgo), revision };
};

describe('the trend of a score', () => {
  it('rises with growing heat, and keeps each component’s way', () => {
    const trend = scoreTrend([ranking(3, 1), ranking(1, 12), ranking(2, 5)], ranking(0, 25), 'v');
    expect(trend.direction).toBe('rising');
    expect(trend.weeks.map(({ week }) => week)).toEqual([3, 2, 1, 0].map((back) => shiftWeek(WEEK, -back)));
    expect(trend.weeks[3]!.heat).toBeGreaterThan(trend.weeks[0]!.heat!);
  });

  it('is not known from two weeks, and a week without the vehicle is a hole, not a zero', () => {
    expect(scoreTrend([ranking(1, 5)], ranking(0, 9), 'v').direction).toBe('unknown');
    const trend = scoreTrend([ranking(3, 5), ranking(2, null), ranking(1, 5)], ranking(0, 5), 'v');
    expect(trend.weeks).toHaveLength(3);
    expect(trend.direction).toBe('steady');
  });

  it('takes the newest revision of a week and looks back eight weeks', () => {
    const trend = scoreTrend(
      [ranking(1, 20, 2), ranking(1, 0, 1), ranking(8, 40), ranking(-1, 40)],
      ranking(0, 20),
      'v',
    );
    expect(trend.weeks.map(({ week }) => week)).toEqual([shiftWeek(WEEK, -1), WEEK]);
    expect(trend.weeks[0]!.heat).toBe(trend.weeks[1]!.heat);
  });

  it('is part of the published row', () => {
    const facts = vehicleFacts({ id: 'v', snapshots: [healthySnapshot()] });
    const history = [ranking(2, 30), ranking(1, 15)];
    const row = computeRanking(rankingInput([facts], { history })).ranked[0]!;
    expect(row.inputs.trend).toMatchObject({ direction: 'falling' });
  });
});

describe('the Theil-Sen slope', () => {
  it('is not moved by one odd point', () => {
    const points = [0, 1, 2, 3, 4, 5, 6].map((x) => ({ x, y: x === 3 ? 100 : 2 * x }));
    expect(theilSenSlope(points)).toBeCloseTo(2, 9);
    expect(theilSenSlope(points.slice(0, 1))).toBeNull();
  });
});
