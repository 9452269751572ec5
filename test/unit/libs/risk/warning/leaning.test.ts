// Judgement, no source: weak evidence may put vehicles in order and must never look like a finding.
import { computeRanking, DEFAULT_RULES, WARNING_RULE } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR, healthySnapshot, rankingInput, vehicleFacts, WINDOW } from '../facts-builder.js';

const noise = (index: number) => Math.sin(index * 12.9898) % 1;

/** Ten drives before the week at `earlierC`, five in it that peak at `weekC`, both with a little scatter. */
function vehicle(id: string, number: number, { earlierC, weekC }: { earlierC: number; weekC: number }) {
  const facts = vehicleFacts({ id, snapshots: [healthySnapshot()] });
  const peak = (index: number, middleC: number) => middleC + noise(number * 100 + index);
  return {
    ...facts,
    earlierDrives: Array.from({ length: 10 }, (_item, index) => {
      const startedMs = WINDOW.fromMs - (12 + 2 * index) * DAY;
      const glance = { first: 15, mean: 84, max: peak(index, earlierC) };
      return {
        ...{ driveId: `${id}-e${index}`, startedMs, endedMs: startedMs + HOUR, seconds: 3600 },
        signals: { coolant_temp_c: glance },
      };
    }),
    signals: facts.signals.map((row, index) => ({ ...row, max: peak(50 + index, weekC) })),
  };
}
const steady = { earlierC: 92, weekC: 92 };
const fleet = (...odd: ReturnType<typeof vehicle>[]) => [
  ...['a', 'b', 'c', 'd', 'e'].map((id, index) => vehicle(id, index, steady)),
  ...odd,
];
const rowOf = (vehicles: ReturnType<typeof vehicle>[], id: string) =>
  computeRanking(rankingInput(vehicles)).ranked.find((row) => row.vehicle === id)!;

describe('evidence too weak to warn', () => {
  it('lifts a vehicle above its like without a warning, and says that it is nothing to act on', () => {
    const vehicles = fleet(vehicle('weak', 9, { earlierC: 92, weekC: 92.15 }));
    const row = rowOf(vehicles, 'weak');
    expect(row.rank).toBe(1);
    expect(row.inputs.heat).toMatchObject({ warnings: [] });
    expect(row.heat.score!).toBeGreaterThan(0);
    expect(row.heat.score!).toBeLessThanOrEqual(WARNING_RULE.leaning.mostScore);
  });

  it('never reaches more than its most, however far the temperature rises, unless it warns', () => {
    fc.assert(
      fc.property(fc.double({ min: 88, max: 103, noNaN: true }), (weekC) => {
        const { heat, inputs } = rowOf(fleet(vehicle('own', 9, { earlierC: 92, weekC })), 'own');
        const { warnings } = inputs.heat as { warnings: unknown[] };
        if (warnings.length === 0) expect(heat.score!).toBeLessThanOrEqual(WARNING_RULE.leaning.mostScore);
        else expect(heat.score!).toBeGreaterThanOrEqual(DEFAULT_RULES.warning.mostScore / 2);
      }),
      { numRuns: 30 },
    );
  });
});
