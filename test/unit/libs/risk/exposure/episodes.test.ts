// Hold rule: a value holds to the next valid one if that comes within 5 s (design of the lake, no outside source).
import { DEFAULT_RULES, EpisodeCutter, type EpisodeRule, stageEpisodeRules } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const RULE: EpisodeRule = { side: 'high', limit: 110, hysteresis: 2, minSeconds: 0, holdSeconds: 5 };
const cut = (rule: EpisodeRule, samples: readonly (readonly [seconds: number, value: number])[]) => {
  const cutter = new EpisodeCutter(rule);
  for (const [seconds, value] of samples) cutter.push(seconds * 1000, value, () => ({ speed: value / 2 }));
  return cutter.finish();
};

describe('episodes', () => {
  it('start at the limit and end only past the hysteresis: no flutter', () => {
    const values = [108, 110, 109, 111, 108.5, 110.5, 107.9, 109.9].map((value, index) => [index, value] as const);
    expect(cut(RULE, values)).toEqual([
      {
        ...{ startMs: 1000, endMs: 6000, seconds: 3, worst: 111, worstAtMs: 3000, contextAtWorst: { speed: 55.5 } },
        degreeMinutes: expect.closeTo(1.5 / 60, 9),
      },
    ]);
    expect(cut({ ...RULE, hysteresis: 0 }, values)).toHaveLength(3);
  });

  it('end where the value held last before a gap', () => {
    const episodes = cut(RULE, [
      [0, 112],
      [1, 112],
      [60, 112],
      [61, 112],
    ]);
    expect(episodes.map(({ startMs, endMs, seconds }) => [startMs, endMs, seconds])).toEqual([
      [0, 1000, 1],
      [60_000, 61_000, 1],
    ]);
  });

  it('hold over rows without a value, and pass over steps back in time', () => {
    const episodes = cut(RULE, [
      [0, 112],
      [2, Number.NaN],
      [4, 112],
      [3, 140],
      [8, 90],
    ]);
    expect(episodes).toMatchObject([{ seconds: 8, worst: 112, endMs: 8000 }]);
  });

  it('shorter than the minimum are dropped', () => {
    expect(
      cut({ ...RULE, minSeconds: 3 }, [
        [0, 112],
        [2, 90],
      ]),
    ).toEqual([]);
  });

  it('work for low limits', () => {
    const low: EpisodeRule = { side: 'low', limit: 100, hysteresis: 20, minSeconds: 0, holdSeconds: 5 };
    const samples = [300, 95, 80, 110, 121].map((value, index) => [index, value] as const);
    expect(cut(low, samples)).toMatchObject([{ startMs: 1000, endMs: 4000, seconds: 2, worst: 80 }]);
  });

  it('without hysteresis and minimum add up to the exposure by the hold rule', () => {
    const step = fc.record({
      dt: fc.integer({ min: -1, max: 9 }),
      value: fc.integer({ min: 100, max: 120 }),
      blank: fc.boolean(),
    });
    fc.assert(
      fc.property(fc.array(step, { maxLength: 60 }), (steps) => {
        let clock = 0;
        const samples = steps.map(({ dt, value, blank }) => [(clock += dt), blank ? Number.NaN : value] as const);
        let exposure = 0;
        let last: readonly [number, number] | null = null;
        for (const sample of samples) {
          if (Number.isNaN(sample[1]) || (last && sample[0] <= last[0])) continue;
          if (last && sample[0] - last[0] <= 5 && last[1] >= 110) exposure += sample[0] - last[0];
          last = sample;
        }
        const episodes = cut({ ...RULE, hysteresis: 0 }, samples);
        expect(episodes.reduce((sum, { seconds }) => sum + seconds, 0)).toBeCloseTo(exposure, 9);
        const wide = cut(RULE, samples);
        expect(wide.reduce((sum, { seconds }) => sum + seconds, 0)).toBeCloseTo(exposure, 9);
        expect(wide.length).toBeLessThanOrEqual(episodes.length);
      }),
    );
  });

  it('have a rule for each stage of the vehicle’s class', () => {
    const rules = stageEpisodeRules(DEFAULT_RULES, 'coolant_temp_c', { vehicleClass: 'van' });
    expect(rules.map(({ stage, limit }) => [stage, Math.round(limit * 10) / 10])).toEqual([
      ['watch', 104.4],
      ['caution', 110],
      ['alarm', 115.6],
      ['severe', 121.1],
    ]);
  });
});
