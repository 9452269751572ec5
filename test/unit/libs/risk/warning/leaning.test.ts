// Judgement, no source: weak evidence may put vehicles in order and must never look like a finding.
import { computeRanking, DEFAULT_RULES, type VehicleFacts, WARNING_RULE } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, dwellRow, HOUR, healthySnapshot, rankingInput, vehicleFacts, WINDOW } from '../facts-builder.js';

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
const fleet = (...odd: VehicleFacts[]): VehicleFacts[] => [
  ...['a', 'b', 'c', 'd', 'e'].map((id, index) => vehicle(id, index, steady)),
  ...odd,
];
const rowOf = (vehicles: VehicleFacts[], id: string) =>
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

  it('is not said beside a limit that was crossed: there is something to act on', () => {
    // One earlier drive is too few to warn.
    const { earlierDrives, ...known } = vehicle('own', 9, { earlierC: 92, weekC: 97 });
    const own = { ...known, earlierDrives: earlierDrives.slice(0, 1) };
    const crossed = dwellRow(own.drives[0]!.driveId, { signal: 'coolant_temp_c', atC: 121, minutes: 4 });
    const hot = { ...own, dwell: [...own.dwell, crossed] };
    const row = rowOf(fleet(hot), 'own');
    expect(row.inputs.heat).toMatchObject({ warnings: [], leaning: { signal: 'coolant_temp_c' } });
    expect(row.reasons[0]!.text).toMatch(/^Coolant at or above/);
    expect(row.reasons.map(({ text }) => text).join()).not.toContain('Nothing to act on yet');
    const mild = rowOf(fleet(own), 'own');
    expect(mild.reasons.map(({ text }) => text).join()).toContain('Nothing to act on yet');
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

describe('a week that was too short to judge', () => {
  /** Four drives in the three days before the week at `lastC`, six before at 92, and twenty minutes in the week. */
  function short(id: string, lastC: number) {
    const facts = vehicleFacts({ id, driveHours: [1 / 3], snapshots: [healthySnapshot()] });
    return {
      ...facts,
      earlierDrives: Array.from({ length: 10 }, (_item, index) => {
        const startedMs = WINDOW.fromMs - (index < 4 ? (1 + index) * 0.6 : 4 + 2 * index) * DAY;
        const max = (index < 4 ? lastC : 92) + noise(900 + index);
        return {
          ...{ driveId: `${id}-e${index}`, startedMs, endedMs: startedMs + HOUR, seconds: 3600 },
          signals: { coolant_temp_c: { first: 15, mean: 84, max } },
        };
      }),
    };
  }

  it('keeps a warning of the days before, and is no all-clear without one', () => {
    const warned = rowOf(fleet(short('short', 99)), 'short');
    expect(warned.heat).toMatchObject({ state: 'ok', score: expect.any(Number) });
    expect(warned.heat.score!).toBeGreaterThanOrEqual(DEFAULT_RULES.warning.mostScore / 2);
    expect(warned.heat.note).toMatch(/Only 0\.33 engine hours .* Judged by its last days’ drives\.$/);
    expect(warned.reasons[0]!.text).toMatch(/^Coolant runs \d/);
    const well = computeRanking(rankingInput(fleet(short('short', 92))));
    expect(well.ranked.map(({ vehicle }) => vehicle)).not.toContain('short');
    expect(well.unranked).toEqual([
      expect.objectContaining({ vehicle: 'short', causes: [expect.objectContaining({ code: 'few_engine_hours' })] }),
    ]);
  });
});
