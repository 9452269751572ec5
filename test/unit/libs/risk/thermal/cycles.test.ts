import { CYCLE_RULE, computeRanking, type DriveRise, thermalCycles } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR, healthySnapshot, rankingInput, vehicleFacts, WINDOW } from '../facts-builder.js';

const drive = (startedMs: number, firstC: number, maxC: number, lastC: number | null = null): DriveRise => ({
  ...{ startedMs, firstC, maxC, lastC },
});

describe('thermal cycles of drives', () => {
  it('counts the example of standards on drive-level temperatures: 20 90 85 105 88 92 20 gives 4, 5 and 85 K once each', () => {
    // Rainflow by ASTM E1049-85, 5.4.4; the example's figures were computed from the definition.
    const drives = [drive(0, 20, 90), drive(1, 85, 105), drive(2, 88, 92, 20)];
    const all = thermalCycles(drives, { leastRangeK: 0, stepK: 1 });
    expect(all).toMatchObject({ drives: 3, cycles: 3, largestK: 85 });
    expect(all.ranges.map(({ fromK, cycles }) => [fromK, cycles])).toEqual([
      [4, 1],
      [5, 1],
      [85, 1],
    ]);
    expect(thermalCycles(drives, CYCLE_RULE)).toEqual({
      ...{ drives: 3, cycles: 1, largestK: 85, ranges: [{ fromK: 80, cycles: 1 }] },
    });
  });

  it('is one cycle a cold start, whatever the order in which the drives are given', () => {
    const starts = fc.array(fc.record({ first: fc.double({ min: -20, max: 30, noNaN: true }) }), { minLength: 1 });
    fc.assert(
      fc.property(starts, (list) => {
        const drives = list.map(({ first }, index) => drive(index, first, 90));
        const counted = thermalCycles([...drives].reverse(), CYCLE_RULE);
        expect(counted).toEqual(thermalCycles(drives, CYCLE_RULE));
        // The series ends at a peak: each start but the first closes a cycle, the first is half of one.
        expect(counted.cycles).toBe(list.length - 0.5);
      }),
    );
  });

  it('stand in a row of the ranking for the week and with the weeks before; a drive uploaded in parts is one start', () => {
    const facts = vehicleFacts({ id: 'a', snapshots: [healthySnapshot()] });
    const earlier = {
      ...{ driveId: 'e1', startedMs: WINDOW.fromMs - 2 * DAY, endedMs: WINDOW.fromMs - 2 * DAY + HOUR, seconds: 3600 },
      signals: { coolant_temp_c: { first: 15, mean: 80, max: 92 } },
    };
    const last = facts.drives.at(-1)!;
    const part = { ...last, driveId: 'part', startedMs: last.endedMs + 1000, endedMs: last.endedMs + HOUR };
    const parts = facts.signals.filter(({ driveId }) => driveId === last.driveId);
    const input = {
      ...facts,
      earlierDrives: [earlier],
      drives: [...facts.drives, part],
      signals: [...facts.signals, ...parts.map((row) => ({ ...row, driveId: 'part', first: 90, last: 90, max: 92 }))],
    };
    const { cycles } = computeRanking(rankingInput([input])).ranked[0]!.inputs as unknown as {
      cycles: Record<string, { week: { drives: number; cycles: number }; withEarlierWeeks: { cycles: number } }>;
    };
    expect(cycles.coolant_temp_c!.week).toMatchObject({ drives: 5, cycles: 4.5, largestK: 77 });
    expect(cycles.coolant_temp_c!.withEarlierWeeks).toMatchObject({ drives: 6, cycles: 5.5 });
    expect(cycles.engine_oil_temp_c).toBeUndefined();
  });
});
