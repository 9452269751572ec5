// Judgement of our own over code timelines; the tests against chance name their source in stats/exact-tests.test.ts.
import {
  CODE_PATTERN_RULE,
  CODES_RULE,
  clearPatterns,
  codesTogether,
  codeTimelines,
  type SnapshotFact,
  spreadingCodes,
  type VehicleCodesFact,
} from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { DAY, type SnapshotPlan, snapshotFact } from '../facts-builder.js';

const at = (day: number, codes: string[], warmUpsSinceClear: number | null = null) =>
  snapshotFact({
    atMs: day * DAY,
    codes: codes.map((code): NonNullable<SnapshotPlan['codes']>[number] => [code, 'confirmed', 'engine']),
    counters: { warmUpsSinceClear },
  });
const patterns = (snapshots: SnapshotFact[], due: string | null = null) =>
  clearPatterns(codeTimelines(snapshots, CODES_RULE), due, CODE_PATTERN_RULE);

describe('cleared without repair', () => {
  const clearedTwice = [at(1, ['P0420'], 50), at(5, ['P0420'], 4), at(9, [], 2), at(14, ['P0420'], 9)];

  it('the same code cleared twice and back each time', () => {
    expect(patterns(clearedTwice)).toMatchObject([
      { kind: 'cleared_and_back', code: 'P0420', cleared: 2, cameBack: 2, atMs: [5 * DAY, 9 * DAY] },
    ]);
    expect(patterns(clearedTwice)[0]!.text).toContain('cleared 2 times and was back each time:');
  });

  it('a newest clear that has not been answered yet does not take the pattern away; one that helped does', () => {
    const third = at(20, [], 1);
    expect(patterns([...clearedTwice, third])[0]).toMatchObject({ cleared: 3, cameBack: 2 });
    const helped = [at(1, ['P0420'], 50), at(5, [], 4), at(40, ['P0171'], 60), at(50, ['P0171'], 2)];
    expect(patterns(helped)).toEqual([]);
  });

  it('a confirmed code cleared shortly before the inspection date', () => {
    const cleared = [at(1, ['P0420'], 50), at(5, [], 2)];
    const due = (day: number) => new Date(day * DAY).toISOString().slice(0, 10);
    expect(patterns(cleared, due(10))).toMatchObject([
      { kind: 'cleared_before_inspection', code: 'P0420', cleared: 1, cameBack: 0 },
    ]);
    expect(patterns(cleared, due(40))).toEqual([]);
    // The inspection was over before the code was even there.
    expect(patterns(cleared, due(0))).toEqual([]);
  });
});

/** A vehicle read every seventh day; each code is there from a day on. */
function member(
  vehicle: string,
  vehicleClass: string,
  codesFrom: Record<string, number>,
  days = 112,
): VehicleCodesFact {
  const snapshots = Array.from({ length: days / 7 + 1 }, (_, index) => index * 7).map((day) =>
    at(
      day,
      Object.entries(codesFrom)
        .filter(([, from]) => day >= from)
        .map(([code]) => code),
    ),
  );
  const readMs = snapshots.map(({ atMs }) => atMs);
  return { vehicle, vehicleClass, timelines: codeTimelines(snapshots, CODES_RULE), readMs };
}
const several = (count: number, name: string, codesFrom: Record<string, number>, vehicleClass = 'van') =>
  Array.from({ length: count }, (_, index) => member(`${name}${index}`, vehicleClass, codesFrom));

describe('codes that come together', () => {
  const rule = CODE_PATTERN_RULE.together;

  it('are found with counts, support and lift', () => {
    const fleet = [
      ...several(4, 'both', { P0171: 14, P0300: 21 }),
      ...several(1, 'one', { P0171: 14 }),
      ...several(15, 'none', {}),
    ];
    const [pair] = codesTogether(fleet, rule);
    expect(pair).toMatchObject({ codes: ['P0171', 'P0300'], vehicles: [5, 4], both: 4, atOnce: 4 });
    expect(pair!.support).toBeCloseTo(4 / 20, 12);
    expect(pair!.lift).toBeCloseTo((4 * 20) / (5 * 4), 12);
  });

  it('are not told from few vehicles, nor when every vehicle has one of them', () => {
    expect(codesTogether([...several(2, 'both', { P0171: 14, P0300: 21 }), ...several(18, 'none', {})], rule)).toEqual(
      [],
    );
    expect(codesTogether(several(12, 'all', { P0171: 14, P0300: 14 }), rule)).toEqual([]);
  });

  it('do not count vehicles that nobody read', () => {
    const fleet = [...several(4, 'both', { P0171: 14, P0300: 21 }), ...several(8, 'none', {})];
    const unread = { vehicle: 'x', vehicleClass: 'van', timelines: [], readMs: [] };
    expect(codesTogether([...fleet, unread, unread], rule)).toEqual(codesTogether(fleet, rule));
  });
});

describe('codes that spread in a class', () => {
  const rule = CODE_PATTERN_RULE.spreading;
  const spread = (fleet: VehicleCodesFact[]) => spreadingCodes(fleet, 112 * DAY, rule);

  it('five new vehicles of twenty in four weeks after one in twelve are more than chance', () => {
    const fleet = [
      ...several(5, 'new', { P20EE: 98 }),
      ...several(1, 'old', { P20EE: 42 }),
      ...several(14, 'none', {}),
      ...several(20, 'pickup', {}, 'pickup'),
    ];
    const [row] = spread(fleet);
    expect(row).toMatchObject({
      code: 'P20EE',
      vehicleClass: 'van',
      now: { newVehicles: ['new0', 'new1', 'new2', 'new3', 'new4'] },
    });
    expect(row!.before.newVehicles).toEqual(['old0']);
    // Given six new vehicles, at least five in the newer period, which has its share of the days under watch.
    const share = row!.now.vehicleDays / (row!.now.vehicleDays + row!.before.vehicleDays);
    expect(row!.p).toBeCloseTo(6 * share ** 5 * (1 - share) + share ** 6, 10);
    expect(row!.ratio).toBeGreaterThan(10);
  });

  it('the same number spread over both periods is not', () => {
    const fleet = [0, 1, 2, 3, 4, 5, 6, 7].flatMap((index) => several(1, `v${index}-`, { P20EE: 7 + index * 14 }));
    expect(spread([...fleet, ...several(12, 'none', {})])).toEqual([]);
  });

  it('a code that was there at the first reading is no news', () => {
    expect(spread([...several(6, 'always', { P20EE: 0 }), ...several(14, 'none', {})])).toEqual([]);
  });
});
