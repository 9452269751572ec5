// A clear resets PID 30, 31 and 4E; permanent codes survive it (SAE J1979, from memory; BAR newsletter of spring 2019, read).
import { CODES_RULE, codeHistories, findClears, returnsWithin, type SnapshotFact } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, type SnapshotPlan, snapshotFact } from '../facts-builder.js';

const day = (number: number) => number * DAY;
const at = (number: number, codes: SnapshotPlan['codes'], change: Omit<SnapshotPlan, 'atMs' | 'codes'> = {}) =>
  snapshotFact({ atMs: day(number), codes: codes ?? [], ...change });
const histories = (...snapshots: SnapshotFact[]) => codeHistories(snapshots, CODES_RULE);
const unread = { pending: false, confirmed: false, permanent: false, monitors: false };

describe('clears', () => {
  const withCounters = (number: number, counters: SnapshotPlan['counters'], odometerKm: number | null = null) =>
    at(number, [], { counters: counters ?? {}, change: { odometerKm } });

  it('show as a counter that went down', () => {
    const clears = findClears(
      [withCounters(1, { warmUpsSinceClear: 30 }), withCounters(8, { warmUpsSinceClear: 2 })],
      CODES_RULE,
    );
    expect(clears).toEqual([{ afterMs: day(1), beforeMs: day(8), why: 'warm-ups since clear went from 30 to 2' }]);
  });

  it('show as distance that fell behind the odometer, though the counter grew', () => {
    const before = withCounters(1, { distanceSinceClearKm: 100 }, 50_000);
    expect(findClears([before, withCounters(15, { distanceSinceClearKm: 500 }, 50_800)], CODES_RULE)).toHaveLength(1);
    expect(findClears([before, withCounters(15, { distanceSinceClearKm: 895 }, 50_800)], CODES_RULE)).toEqual([]);
  });

  it('do not show in a saturated counter or in snapshots without counters', () => {
    const full = { distanceSinceClearKm: 65_535 };
    const facts = [withCounters(1, full, 1), withCounters(2, {}, 500), withCounters(3, full, 90_000)];
    expect(findClears(facts, CODES_RULE)).toEqual([]);
  });
});

describe('code histories', () => {
  it('a code that is gone and comes back has returned, with days and kilometres', () => {
    const [history] = histories(
      at(1, [['P0301', 'confirmed']], { change: { odometerKm: 1_000 } }),
      at(5, []),
      at(11, [['P0301', 'confirmed']], { change: { odometerKm: 1_400 } }),
    );
    expect(history).toMatchObject({
      active: true,
      firstSeenMs: day(1),
      lastSeenMs: day(11),
      spans: [
        { fromMs: day(1), lastMs: day(1), endedMs: day(5), endedBy: 'gone' },
        { fromMs: day(11), lastMs: day(11), endedMs: null, endedBy: null },
      ],
      returns: [{ atMs: day(11), after: 'gone', days: 10, distanceKm: 400, warmUps: null }],
    });
  });

  it('a code that is there before and after a clear came back, though no snapshot missed it', () => {
    const [history] = histories(
      at(1, [['P0301', 'confirmed']], { counters: { warmUpsSinceClear: 50 } }),
      at(8, [['P0301', 'confirmed']], { counters: { warmUpsSinceClear: 6 } }),
    );
    expect(history!.returns).toEqual([{ atMs: day(8), after: 'cleared', days: 7, distanceKm: null, warmUps: 6 }]);
  });

  it('a permanent code survives a clear: no return', () => {
    const [history] = histories(
      at(1, [['P0420', 'permanent']], { counters: { warmUpsSinceClear: 50 } }),
      at(8, [['P0420', 'permanent']], { counters: { warmUpsSinceClear: 6 } }),
    );
    expect(history!.returns).toEqual([]);
  });

  it('a snapshot that did not read the service says nothing about its codes', () => {
    const [history] = histories(
      at(1, [['P0301', 'confirmed']]),
      at(5, [], { change: { read: unread } }),
      at(9, [['P0301', 'confirmed']]),
      at(12, [], { change: { read: { ...unread, pending: true } } }),
    );
    expect(history).toMatchObject({ active: true, returns: [], spans: [{ fromMs: day(1), lastMs: day(9) }] });
  });

  it('keeps modules and statuses apart', () => {
    const list = histories(
      at(1, [
        ['U0100', 'confirmed', 'engine'],
        ['U0100', 'confirmed', 'transmission'],
        ['U0100', 'pending', 'engine'],
      ]),
      at(2, [['U0100', 'confirmed', 'engine']]),
    );
    expect(list.map(({ module, status, active }) => [module, status, active])).toEqual([
      ['engine', 'confirmed', true],
      ['engine', 'pending', false],
      ['transmission', 'confirmed', false],
    ]);
  });

  it('counts returns in windows that end at the asked day', () => {
    const on = (number: number) => at(number, [['P0301', 'confirmed']]);
    const [history] = histories(on(1), at(2, []), on(300), at(301, []), on(350), at(351, []), on(380));
    expect([30, 90, 365].map((days) => returnsWithin(history!, day(380), days))).toEqual([1, 3, 3]);
    expect(returnsWithin(history!, day(360), 30)).toBe(1);
  });

  it('does not depend on the order in which snapshots arrived', () => {
    const plan = fc.record({ present: fc.boolean(), read: fc.boolean(), warmUps: fc.integer({ min: 0, max: 60 }) });
    fc.assert(
      fc.property(fc.array(plan, { maxLength: 12 }), fc.infiniteStream(fc.nat()), (plans, keys) => {
        const snapshots = plans.map(({ present, read, warmUps }, index) =>
          at(index, present && read ? [['P0301', 'confirmed']] : [], {
            counters: { warmUpsSinceClear: warmUps },
            change: { read: { ...unread, confirmed: read } },
          }),
        );
        const turned = snapshots
          .map((item) => ({ item, key: keys.next().value ?? 0 }))
          .sort((a, b) => a.key - b.key)
          .map(({ item }) => item);
        expect(histories(...turned)).toEqual(histories(...snapshots));
      }),
    );
  });
});
