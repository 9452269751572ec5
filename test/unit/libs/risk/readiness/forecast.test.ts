// The estimator is Kaplan and Meier's (see stats/survival.test.ts) with Jeffreys' prior; what completes monitors is common
// practice, no source. A clear resets PID 30, 31 and 4E and every monitor (SAE J1979, from memory).
import type { MonitorId, Vehicle } from '@tallybay/contracts';
import {
  CODES_RULE,
  type CompletionHistory,
  type CompletionRules,
  chanceToBeReady,
  completionHistory,
  FORECAST_RULE,
  forecastReadiness,
  monitorWatches,
  PROGRAMMES,
  pooledHistory,
  type SnapshotFact,
} from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, snapshotFact } from '../facts-builder.js';

const RULES: CompletionRules = { codes: CODES_RULE, forecast: FORECAST_RULE };
const NONE = pooledHistory([]);

const state = (id: MonitorId, complete: boolean) => ({ id, supported: true, complete });
/** A reading on a day with the catalyst and EVAP monitors in a state. */
const at = (day: number, warmUpsSinceClear: number, [catalyst, evap]: [boolean, boolean]): SnapshotFact =>
  snapshotFact({
    atMs: day * DAY,
    counters: { warmUpsSinceClear },
    change: { monitors: [state('catalyst', catalyst), state('evap', evap)] },
  });

/** Two warm-ups a day; a clear on `clearDay`; each monitor completes after so many warm-ups. */
function life(clearDay: number, days: number, needs: { catalyst: number; evap: number }): SnapshotFact[] {
  return Array.from({ length: days + 1 }, (_, day) => {
    const warmUps = day < clearDay ? 100 + 2 * day : 2 * (day - clearDay);
    const done = (need: number) => day < clearDay || warmUps >= need;
    return at(day, warmUps, [done(needs.catalyst), done(needs.evap)]);
  });
}

const classOf = (count: number, needs = { catalyst: 4, evap: 20 }): CompletionHistory =>
  pooledHistory(Array.from({ length: count }, () => completionHistory(life(10, 40, needs), RULES)));

const forecast = (snapshots: SnapshotFact[], others: CompletionHistory, untilDay: number) =>
  forecastReadiness(snapshots, { own: completionHistory(snapshots, RULES), others }, untilDay * DAY, RULES)!;
const monitor = (result: ReturnType<typeof forecast>, id: MonitorId) =>
  result.monitors.find((item) => item.monitor === id);

describe('how monitors completed after clears', () => {
  it('is dated by the snapshot that first shows it, in warm-ups since the clear', () => {
    expect(monitorWatches(life(3, 20, { catalyst: 5, evap: 1_000 }), 'warm_ups', RULES)).toEqual([
      { monitor: 'catalyst', entered: 0, ended: 6, completed: true },
      { monitor: 'evap', entered: 0, ended: 34, completed: false },
    ]);
  });

  it('says nothing of a monitor that was complete when the vehicle was first read', () => {
    expect(monitorWatches([at(0, 40, [true, true]), at(5, 50, [true, true])], 'warm_ups', RULES)).toEqual([]);
  });

  it('a clear that nobody saw: watched from the first reading on, if it was incomplete then', () => {
    expect(monitorWatches([at(0, 7, [true, false]), at(5, 17, [true, true])], 'warm_ups', RULES)).toEqual([
      { monitor: 'evap', entered: 7, ended: 17, completed: true },
    ]);
  });

  it('a counter at its end tells nothing (PID 30 is one byte)', () => {
    expect(monitorWatches([at(0, 254, [false, false]), at(9, 255, [true, true])], 'warm_ups', RULES)).toEqual([]);
  });
});

describe('the forecast', () => {
  const fresh = life(30, 31, { catalyst: 4, evap: 20 });

  it("goes by the class where the vehicle has no history, at the vehicle's own usual use", () => {
    const result = forecast(fresh, classOf(12), 33);
    expect(result).toMatchObject({ scale: 'warm_ups', soFar: 2, usualPerDay: 2, usualUntilThen: 4 });
    expect(monitor(result, 'catalyst')).toMatchObject({ outlook: 'likely', classClears: 12, overdue: false });
    // Four warm-ups are reached two days after the clear, one after the reading of day 31.
    expect(monitor(result, 'catalyst')!.likelyAtMs).toBeCloseTo(32 * DAY, -3);
    expect(monitor(result, 'evap')).toMatchObject({ outlook: 'unlikely' });
    expect(monitor(forecast(fresh, classOf(12), 45), 'evap')!.outlook).toBe('likely');
  });

  it('says that there is too little history where nobody can know', () => {
    const alone = forecast(fresh, NONE, 60);
    expect(alone.monitors).toMatchObject([
      { monitor: 'catalyst', outlook: 'too_little_history', chance: null },
      { monitor: 'evap', outlook: 'too_little_history', chance: null },
    ]);
    expect(monitor(forecast(fresh, classOf(2), 60), 'evap')!.outlook).toBe('too_little_history');
  });

  it('ten trials that all completed: chance and interval of Beta(10.5, 0.5)', () => {
    const { chance } = monitor(forecast(fresh, classOf(25), 60), 'catalyst')!;
    expect(chance!.chance).toBeCloseTo(10.5 / 11, 9);
    expect(chance!.low).toBeGreaterThan(0.8);
    expect(chance!.high).toBeLessThanOrEqual(1);
  });

  it("its own clears weigh more than the class's", () => {
    const stubborn = [
      ...life(10, 39, { catalyst: 4, evap: 50 }),
      ...[1, 2, 3, 4, 5].flatMap((round) =>
        life(0, 39, { catalyst: 4, evap: 50 }).map((snapshot) => {
          const atMs = snapshot.atMs + round * 40 * DAY;
          return { ...snapshot, atMs, uploadId: `s-${atMs}` };
        }),
      ),
      at(240, 0, [false, false]),
    ];
    const slow = monitor(forecast(stubborn, classOf(3), 250), 'evap')!;
    const quick = monitor(forecast(fresh, classOf(3), 41), 'evap')!;
    expect(slow.ownClears).toBeGreaterThan(5);
    expect(slow.chance!.chance).toBeLessThan(0.5);
    expect(quick.chance!.chance).toBeGreaterThan(0.8);
  });

  it('tells a monitor that has been open for longer than in nearly all others', () => {
    const stuck = life(10, 40, { catalyst: 4, evap: 1_000 });
    expect(monitor(forecast(stuck, classOf(12), 60), 'evap')).toMatchObject({
      outlook: 'too_little_history',
      overdue: true,
    });
  });

  it('without monitors there is no forecast, and a parked vehicle completes nothing', () => {
    const unread = snapshotFact({
      atMs: DAY,
      change: { read: { pending: true, confirmed: true, permanent: true, monitors: false } },
    });
    expect(forecastReadiness([unread], { own: NONE, others: NONE }, 5 * DAY, RULES)).toBeNull();
    const parked = [at(0, 3, [false, false]), at(20, 3, [false, false])];
    expect(monitor(forecast(parked, classOf(12), 40), 'catalyst')).toMatchObject({
      outlook: 'unlikely',
      likelyAtMs: null,
    });
  });

  it('more days never make completion less likely, and every interval holds its chance', () => {
    const plan = fc.record({
      others: fc.array(
        fc.record({ catalyst: fc.integer({ min: 1, max: 60 }), evap: fc.integer({ min: 1, max: 60 }) }),
        {
          minLength: 3,
          maxLength: 12,
        },
      ),
      first: fc.integer({ min: 31, max: 60 }),
      more: fc.integer({ min: 0, max: 30 }),
    });
    fc.assert(
      fc.property(plan, ({ others, first, more }) => {
        const pool = pooledHistory(others.map((needs) => completionHistory(life(10, 40, needs), RULES)));
        const [early, late] = [forecast(fresh, pool, first), forecast(fresh, pool, first + more)];
        early.monitors.forEach(({ chance }, index) => {
          const later = late.monitors[index]!.chance;
          if (!chance || !later) return;
          expect(later.chance).toBeGreaterThanOrEqual(chance.chance - 1e-12);
          expect(chance.low).toBeLessThanOrEqual(chance.chance);
          expect(chance.high).toBeGreaterThanOrEqual(chance.chance - 1e-9);
        });
      }),
      { numRuns: 40 },
    );
  });
});

describe('the chance to be ready', () => {
  const vehicle: Vehicle = { id: 'v', vehicleClass: 'van', depot: 'north', modelYear: 2015, fuel: 'gas' };
  const programme = (id: string) => PROGRAMMES.find((item) => item.id === id)!;
  const snapshots = life(30, 31, { catalyst: 4, evap: 20 });
  const soon = forecast(snapshots, classOf(12), 33);
  const chanceOf = (id: MonitorId) => monitor(soon, id)!.chance!.chance;

  it('federal: at most one open of two, both open independently', () => {
    const ready = chanceToBeReady(programme('federal'), vehicle, snapshots, soon)!;
    expect(ready.chance).toBeCloseTo(1 - (1 - chanceOf('catalyst')) * (1 - chanceOf('evap')), 12);
  });

  it('California from 2000: EVAP may stay open, so the catalyst alone counts', () => {
    expect(chanceToBeReady(programme('california'), vehicle, snapshots, soon)!.chance).toBeCloseTo(
      chanceOf('catalyst'),
      12,
    );
  });

  it('is 1 where what is open is allowed, null where a monitor that counts has no forecast or no rule applies', () => {
    const blind = forecast(snapshots, NONE, 33);
    expect(chanceToBeReady(programme('federal'), { ...vehicle, modelYear: 1998 }, snapshots, blind)!.chance).toBe(1);
    expect(chanceToBeReady(programme('federal'), vehicle, snapshots, blind)).toBeNull();
    expect(chanceToBeReady(programme('california-heavy'), vehicle, snapshots, soon)).toBeNull();
  });
});
