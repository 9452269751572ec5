// Cycles, clearing and code life: SAE J1979 and 13 CCR 1968.2 (from memory), BAR newsletter of spring 2019 (read).
import { CODES_RULE, codesNow, codeTimelines, findClears, type SnapshotFact } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, type SnapshotPlan, snapshotFact } from '../facts-builder.js';

const at = (day: number, codes: SnapshotPlan['codes'], change: Omit<SnapshotPlan, 'atMs' | 'codes'> = {}) =>
  snapshotFact({ atMs: day * DAY, codes: codes ?? [], ...change });
const warm = (warmUpsSinceClear: number, change: Partial<SnapshotFact> = {}) => ({
  counters: { warmUpsSinceClear },
  change,
});
const timelines = (...snapshots: SnapshotFact[]) => codeTimelines(snapshots, CODES_RULE);

describe('modules that did not answer', () => {
  const heard = (modules: string[]) => ({ change: { modulesRead: { confirmed: modules } } });

  it('a snapshot without the module neither ends a code nor makes it return', () => {
    const [line] = timelines(
      at(1, [['U0101', 'confirmed', 'SA3']], heard(['SA0', 'SA3'])),
      at(2, [], heard(['SA0'])),
      at(3, [['U0101', 'confirmed', 'SA3']], heard(['SA3'])),
      at(4, [], heard(['SA0'])),
    );
    expect(line).toMatchObject({ standing: 'confirmed', returns: [], lastSeenMs: 3 * DAY, lastReadMs: 3 * DAY });
    expect(line!.histories[0]!.spans).toHaveLength(1);
  });

  it('once the module answers without it, it has gone', () => {
    const snapshots = [at(1, [['U0101', 'confirmed', 'SA3']]), at(2, [], heard(['SA0'])), at(3, [], heard(['SA3']))];
    expect(timelines(...snapshots)[0]).toMatchObject({ standing: 'gone', lastReadMs: 3 * DAY });
    expect(codesNow(snapshots.slice(0, 2), 'confirmed')).toEqual(['U0101']);
    expect(codesNow(snapshots, 'confirmed')).toEqual([]);
  });

  it('a code that names no module is only spoken of by a reading of the whole vehicle', () => {
    const seen = at(1, [['P0301', 'confirmed']]);
    expect(timelines(seen, at(2, [], heard(['7E8'])))[0]!.standing).toBe('confirmed');
    expect(timelines(seen, at(2, []))[0]!.standing).toBe('gone');
  });

  it('adding a snapshot that read nothing, or only other modules, never changes the history', () => {
    const reading = fc.record({
      shown: fc.subarray(['P0301', 'P0217', 'U0101']),
      status: fc.constantFrom('pending' as const, 'confirmed' as const, 'permanent' as const),
      warmUps: fc.option(fc.integer({ min: 0, max: 60 })),
      modules: fc.option(fc.subarray(['engine', 'other'])),
    });
    const empty = fc.record({ day: fc.double({ min: 0, max: 12, noNaN: true }), nothing: fc.boolean() });
    fc.assert(
      fc.property(fc.array(reading, { maxLength: 10 }), empty, (plans, { day, nothing }) => {
        const snapshots = plans.map(({ shown, status, warmUps, modules }, index) =>
          at(
            index,
            shown.map((code) => [code, status, 'engine']),
            {
              counters: { warmUpsSinceClear: warmUps },
              change: modules ? { modulesRead: { confirmed: modules, pending: modules, permanent: modules } } : {},
            },
          ),
        );
        const none = nothing
          ? { read: { pending: false, confirmed: false, permanent: false, monitors: false } }
          : { modulesRead: { pending: ['clock'], confirmed: ['clock'], permanent: ['clock'] } };
        const silent = snapshotFact({ atMs: day * DAY, change: { ...none, uploadId: 'silent' } });
        expect(timelines(...snapshots, silent)).toEqual(timelines(...snapshots));
        expect(findClears([...snapshots, silent], CODES_RULE)).toEqual(findClears(snapshots, CODES_RULE));
      }),
    );
  });
});

describe('timelines', () => {
  it('cleared as confirmed and pending again is a return, with days, kilometres and warm-ups', () => {
    const [line] = timelines(
      at(1, [['P0301', 'confirmed']], warm(80, { odometerKm: 10_000 })),
      at(5, [], warm(2, { odometerKm: 10_120 })),
      at(9, [['P0301', 'pending']], warm(7, { odometerKm: 10_300 })),
      at(12, [['P0301', 'confirmed']], warm(11, { odometerKm: 10_500 })),
    );
    expect(line!.returns).toEqual([{ atMs: 9 * DAY, after: 'cleared', days: 8, distanceKm: 300, warmUps: 7 }]);
    expect(line!.clears).toMatchObject([{ clear: { beforeMs: 5 * DAY }, backMs: 9 * DAY }]);
    expect(line!.standing).toBe('confirmed');
  });

  it('a pending code that comes and goes with the driving has not returned', () => {
    const [line] = timelines(at(1, [['P0301', 'pending']]), at(2, []), at(3, [['P0301', 'pending']]), at(4, []));
    expect(line).toMatchObject({ returns: [], clears: [], standing: 'gone' });
  });

  it('what had gone by itself before a clear was not taken by it', () => {
    const [line] = timelines(
      at(1, [['P0301', 'confirmed']], warm(40)),
      at(20, [], warm(80)),
      at(25, [], warm(3)),
      at(30, [['P0301', 'confirmed']], warm(9)),
    );
    expect(line).toMatchObject({ clears: [], returns: [{ after: 'gone' }] });
    expect(line!.histories[0]!.spans[0]).toMatchObject({ endedMs: 20 * DAY, endedBy: 'gone' });
  });

  it('a permanent code outlives the clear that took the confirmed one', () => {
    const [line] = timelines(
      at(
        1,
        [
          ['P0420', 'confirmed'],
          ['P0420', 'permanent'],
        ],
        warm(50),
      ),
      at(3, [['P0420', 'permanent']], warm(2)),
    );
    expect(line).toMatchObject({ standing: 'permanent', returns: [] });
    expect(line!.clears).toHaveLength(1);
  });
});
