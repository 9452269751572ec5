import type { Exclusion } from '@tallybay/contracts';
import { exclusionSchema, rankingSchema } from '@tallybay/contracts';
import { computeRanking, DEFAULT_RULES, ruleVersion } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { healthySnapshot, rankingInput, vehicleFacts } from '../facts-builder.js';

// The week of the facts ends on Sunday 2026-10-11.
const leftOut = (change: Partial<Exclusion> = {}): Exclusion => ({
  ...{ vehicle: 'hot', component: null, reason: 'body shop until the insurer decides' },
  ...{ from: '2026-10-01', until: '2026-10-31' },
  ...change,
});
const hot = vehicleFacts({
  ...{ id: 'hot', snapshots: [healthySnapshot()] },
  stretches: [[{ signal: 'coolant_temp_c', atC: 118, minutes: 30 }]],
});
const well = vehicleFacts({ id: 'well', snapshots: [healthySnapshot()] });
const rank = (...exclusions: Exclusion[]) =>
  rankingSchema.parse(computeRanking(rankingInput([hot, well]), { ...DEFAULT_RULES, exclusions }));

describe('exclusions', () => {
  it('lists a vehicle that is left out with reason, last day and what is known against it', () => {
    const ranking = rank(leftOut());
    expect(ranking.ranked.map(({ vehicle, rank: place }) => [vehicle, place])).toEqual([['well', 1]]);
    const [cause] = ranking.unranked.find(({ vehicle }) => vehicle === 'hot')!.causes;
    expect(cause).toMatchObject({ code: 'excluded' });
    expect(cause!.text).toMatch(
      /^Left out until 2026-10-31: body shop until the insurer decides\. Known all the same: /,
    );
    expect(cause!.text).toMatch(/Coolant at or above 115\.6 °C/);
  });

  it('leaves out one component only: no score, no reasons, said so, and it counts as nothing', () => {
    const row = rank(leftOut({ component: 'heat' })).ranked.find(({ vehicle }) => vehicle === 'hot')!;
    expect(row.heat).toMatchObject({ score: null, state: 'excluded' });
    expect(row.heat.note).toMatch(/^Left out until 2026-10-31: .* It would have shown: Coolant at or above/);
    expect(row.reasons.filter(({ component }) => component === 'heat')).toEqual([]);
    expect(row.inputs.assumed).toEqual({});
    expect(row).toMatchObject({ score: 0, coverage: { share: 0.6667 } });
    expect(row.inputs.heat).toMatchObject({ excluded: { component: { state: 'ok' } } });
  });

  it('holds on the last day of the week only: before and after, the vehicle is ranked', () => {
    expect(rank(leftOut({ until: '2026-10-10' })).ranked).toHaveLength(2);
    expect(rank(leftOut({ until: '2026-10-11' })).ranked).toHaveLength(1);
    expect(rank(leftOut({ from: '2026-10-12' })).ranked).toHaveLength(2);
    expect(rank(leftOut({ from: '2026-10-11' })).ranked).toHaveLength(1);
  });

  it('never moves the score of others, and is part of the rule version', () => {
    const score = (ranking: ReturnType<typeof rank>) => ranking.ranked.find(({ vehicle }) => vehicle === 'well')!.score;
    expect(score(rank(leftOut()))).toBe(score(rank()));
    expect(rank(leftOut()).ruleVersion).not.toBe(ruleVersion(DEFAULT_RULES));
    expect(rank().ruleVersion).toBe(ruleVersion(DEFAULT_RULES));
  });

  it('needs a reason and a last day not before the first', () => {
    expect(exclusionSchema.safeParse(leftOut({ reason: '  ' })).success).toBe(false);
    expect(exclusionSchema.safeParse(leftOut({ until: '2026-09-30' })).success).toBe(false);
    expect(exclusionSchema.safeParse(leftOut()).success).toBe(true);
  });
});
