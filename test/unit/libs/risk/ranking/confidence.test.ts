// The levels are judgement, no outside source.
import { computeRanking, DEFAULT_RULES } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { healthySnapshot, rankingInput, type VehiclePlan, vehicleFacts } from '../facts-builder.js';

const vehicle = (id: string, plan: Partial<VehiclePlan> = {}) =>
  vehicleFacts({ id, snapshots: [healthySnapshot()], ...plan });
const fleet = (count: number) => Array.from({ length: count }, (_, index) => vehicle(`v${index}`));
const row = (vehicles: ReturnType<typeof vehicleFacts>[], id: string) =>
  computeRanking(rankingInput(vehicles)).ranked.find((item) => item.vehicle === id)!;
const level = (found: ReturnType<typeof row>, name: string) =>
  found.confidence!.parts.find((part) => part.name === name)!;

describe('confidence of a rank', () => {
  it('is high with all components, ten hours and a class of six, and says what it rests on', () => {
    const found = row(fleet(6), 'v0');
    expect(found.confidence).toMatchObject({ level: 'high', why: 'Confidence is high.' });
    expect(found.confidence!.parts.map(({ name, value }) => [name, value]).slice(0, 3)).toEqual([
      ['coverage', 1],
      ['engine_hours', 10],
      ['class_size', 6],
    ]);
  });

  it('is as low as the weakest part: few hours, or no class to compare with', () => {
    const short = row([...fleet(6), vehicle('short', { driveHours: [0.7] })], 'short').confidence!;
    expect(short.level).toBe('low');
    expect(short.why).toMatch(/^Confidence is low: 0\.7 engine hours/);
    const alone = row([vehicle('alone')], 'alone').confidence!;
    expect(alone).toMatchObject({ level: 'low', why: 'Confidence is low: 1 vehicle of its class to compare with.' });
  });

  it('counts a component without data, and leaves out the width of a score that there is not', () => {
    const bare = row([...fleet(6), vehicle('bare', { signals: [] })], 'bare');
    expect(level(bare, 'coverage')).toMatchObject({ value: 0.6667, level: 'medium' });
    expect(bare.confidence!.parts.some(({ name }) => name === 'score_width')).toBe(false);
  });

  it('the posterior of the same rate is wider with fewer hours', () => {
    const hot = (minutes: number) => [[{ signal: 'coolant_temp_c' as const, atC: 112, minutes }]];
    const vehicles = [
      ...fleet(6),
      vehicle('few', { driveHours: [1], stretches: hot(3) }),
      vehicle('many', { driveHours: [10], stretches: hot(30) }),
    ];
    const [few, many] = ['few', 'many'].map((id) => level(row(vehicles, id), 'score_width').value);
    expect(few!).toBeGreaterThan(many!);
    expect(many!).toBeGreaterThan(0);
    expect(level(row(vehicles, 'many'), 'score_width').level).not.toBe('high');
  });

  it('never rises when a limit of the rule is drawn tighter', () => {
    const confidence = { ...DEFAULT_RULES.confidence, engineHours: { high: 20, medium: 15 } };
    const ranking = computeRanking(rankingInput(fleet(6)), { ...DEFAULT_RULES, confidence });
    expect(new Set(ranking.ranked.map((item) => item.confidence!.level))).toEqual(new Set(['low']));
  });
});
