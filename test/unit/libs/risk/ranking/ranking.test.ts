// The ranking's own promises; thresholds and weights are judgement, no outside source.
import { rankingSchema } from '@tallybay/contracts';
import { computeRanking, DEFAULT_RULES, HEAT_SIGNALS, ruleVersion, shiftWeek } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  DAY,
  healthySnapshot,
  rankingInput,
  type Stretch,
  snapshotFact,
  statsRow,
  type VehiclePlan,
  vehicleFacts,
  WEEK,
  WINDOW,
} from '../facts-builder.js';

const hot = (atC: number, minutes: number): Stretch => ({ signal: 'coolant_temp_c', atC, minutes });
const healthy = (id: string, plan: Partial<VehiclePlan> = {}) =>
  vehicleFacts({ id, snapshots: [healthySnapshot()], ...plan });
const rank = (...vehicles: ReturnType<typeof vehicleFacts>[]) => computeRanking(rankingInput(vehicles));
const order = (ranking: ReturnType<typeof computeRanking>) => ranking.ranked.map((row) => row.vehicle);

describe('the ranking', () => {
  it('has the published shape, names its rules and says what it is not', () => {
    const ranking = rankingSchema.parse(rank(healthy('a'), healthy('b')));
    expect(ranking.ruleVersion).toBe(ruleVersion(DEFAULT_RULES));
    expect(ranking).toMatchObject({ from: '2026-10-05T00:00:00-06:00', to: '2026-10-12T00:00:00-06:00' });
    expect(ranking.caution).toMatch(/does not clear any vehicle as safe to drive/);
  });

  it('puts the hotter vehicle first and says why with numbers and drives', () => {
    const ranking = rank(
      healthy('a'),
      healthy('b', { stretches: [[hot(118, 14)]] }),
      healthy('c', { stretches: [[hot(111, 14)]] }),
    );
    expect(order(ranking)).toEqual(['b', 'c', 'a']);
    expect(ranking.ranked[0]!.reasons[0]).toMatchObject({
      component: 'heat',
      text: 'Coolant at or above 115.6 °C (240 °F, alarm) for 14 min in 10.0 engine hours, 14 min at or above 110.0 °C (230 °F, caution); peak 118.0 °C.',
      evidence: [{ kind: 'drive', id: 'b-d1' }],
    });
  });

  it('does not let a short drive top the list', () => {
    const short = healthy('short', { driveHours: [0.6], stretches: [[hot(112, 6)]] });
    const long = healthy('long', { stretches: [[hot(112, 20)], [hot(112, 20)], [hot(112, 20)]] });
    expect(order(rank(short, long, healthy('x')))).toEqual(['long', 'short', 'x']);
  });

  it('lists ten minutes without findings as not ranked, with what was seen', () => {
    const ranking = rank(healthy('ten', { driveHours: [1 / 6], stretches: [[hot(113, 5)]] }), healthy('x'));
    expect(order(ranking)).toEqual(['x']);
    expect(ranking.unranked).toEqual([
      expect.objectContaining({
        vehicle: 'ten',
        causes: [
          {
            code: 'few_engine_hours',
            text: 'Only 0.17 engine hours this week, at least 0.5 needed (coolant up to 113 °C).',
          },
        ],
      }),
    ]);
  });

  it('tells of ten minutes at an alarm, and does not put them on top', () => {
    const ten = healthy('ten', { driveHours: [1 / 6], stretches: [[hot(126, 5)]] });
    const boiling = healthy('boiling', { stretches: [[hot(126, 30)], [hot(126, 30)]] });
    const ranking = rank(ten, boiling, healthy('x'));
    expect(order(ranking)).toEqual(['boiling', 'ten', 'x']);
    const row = ranking.ranked[1]!;
    expect(row.heat.note).toBe(
      'Only 0.17 engine hours this week, at least 0.5 needed (coolant up to 126 °C). What was seen counts in that share.',
    );
    expect(row.heat.score).toBeGreaterThan(0.1);
    expect(row.heat.score).toBeLessThan(1 / 3);
    expect(row.confidence?.level).toBe('low');
    expect(row.reasons[0]!.weight).toBeLessThan(1 / 3);
  });

  it('does not take half a minute at an alarm in ten minutes for more than it is', () => {
    const ranking = rank(healthy('ten', { driveHours: [1 / 6], stretches: [[hot(117, 0.5)]] }), healthy('x'));
    expect(order(ranking)).toEqual(['x']);
  });

  it('still ranks a vehicle with few hours that a code speaks against', () => {
    const snapshots = [snapshotFact({ atMs: WINDOW.fromMs + DAY, codes: [['P0217', 'confirmed']] })];
    const ranking = rank(healthy('ten', { driveHours: [1 / 6], snapshots }), healthy('x'));
    expect(order(ranking)).toEqual(['ten', 'x']);
    expect(ranking.ranked[0]!.heat).toMatchObject({ score: null, state: 'no_data' });
  });

  it('says no data for a vehicle without a fluid temperature, never 0', () => {
    const none = vehicleFacts({ id: 'none', signals: ['intake_air_temp_c'] });
    const ranking = rank(none, healthy('x'));
    expect(ranking.unranked[0]).toMatchObject({ vehicle: 'none' });
    expect(ranking.unranked[0]!.causes.map(({ code }) => code)).toEqual(['no_temperature', 'no_snapshot']);
    const withSnapshot = rank(vehicleFacts({ id: 'none', signals: [], snapshots: [healthySnapshot()] }), healthy('x'));
    const row = withSnapshot.ranked.find(({ vehicle }) => vehicle === 'none')!;
    expect(row).toMatchObject({ heat: { score: null, state: 'no_data' }, coverage: { share: 0.6667 } });
  });

  it('keeps a recorder that writes °F under °C off the top: a bad sensor, no heat score', () => {
    const wrong = healthy('wrong', { stretches: [[hot(196, 100)], [hot(195, 110)]] });
    const ranking = rank(wrong, healthy('hot', { stretches: [[hot(116, 10)]] }), healthy('x'));
    expect(order(ranking)[0]).toBe('hot');
    const row = ranking.ranked.find(({ vehicle }) => vehicle === 'wrong')!;
    expect(row.heat).toMatchObject({ score: null, state: 'bad_sensor' });
    expect(row.heat.note).toMatch(/as °F the values would be plausible/);
    expect(row.reasons.filter(({ component }) => component === 'heat')).toEqual([]);
  });

  it('lists a vehicle that was not seen with the day of its last data', () => {
    const gone = { ...vehicleFacts({ id: 'gone', driveHours: [] }), lastSeenMs: WINDOW.fromMs - 3 * DAY };
    const never = vehicleFacts({ id: 'never', driveHours: [] });
    expect(rank(gone, never).unranked.map((row) => row.causes)).toEqual([
      [{ code: 'no_upload', text: 'Nothing arrived for this week; the last data is from 2026-10-02.' }],
      [{ code: 'no_upload', text: 'Nothing arrived for this week; nothing ever has.' }],
    ]);
  });

  it('one severe component cannot be averaged away', () => {
    const snapshots = [snapshotFact({ atMs: WINDOW.fromMs + DAY, codes: [['P0217', 'confirmed']] })];
    const row = rank(healthy('a', { snapshots }), healthy('b')).ranked[0]!;
    expect(row.codes.score).toBe(1);
    expect(row.score).toBeGreaterThanOrEqual(DEFAULT_RULES.weights.codes);
  });

  it('says how rank and score moved since last week', () => {
    const last = computeRanking(rankingInput([healthy('a', { stretches: [[hot(118, 30)]] }), healthy('b')]));
    const facts = [healthy('a'), healthy('b', { stretches: [[hot(118, 30)]] }), healthy('c')];
    const now = computeRanking(rankingInput(facts, { previous: { ...last, week: shiftWeek(WEEK, -1) } }));
    const change = Object.fromEntries(now.ranked.map((row) => [row.vehicle, row.change]));
    expect(change.b).toMatchObject({ rank: 1 });
    expect(change.b!.score).toBeGreaterThan(0);
    expect(change.a).toMatchObject({ rank: -1 });
    expect(change.c).toEqual({ rank: null, score: null });
  });
});

describe('invariants of the ranking', () => {
  const stretch = fc.record({
    signal: fc.constantFrom(...HEAT_SIGNALS.slice(0, 3)),
    atC: fc.double({ min: 90, max: 140, noNaN: true }),
    minutes: fc.double({ min: 0.1, max: 20, noNaN: true }),
  });
  const plan = fc.record({
    driveHours: fc.array(fc.double({ min: 0.3, max: 4, noNaN: true }), { minLength: 1, maxLength: 5 }),
    stretches: fc.array(fc.array(stretch, { maxLength: 4 }), { maxLength: 5 }),
    signals: fc.constantFrom([...HEAT_SIGNALS.slice(0, 3)], [HEAT_SIGNALS[0]], []),
    vehicleClass: fc.constantFrom('pickup', 'van'),
  });
  const fleet = fc.array(plan, { minLength: 1, maxLength: 8 });
  const build = (plans: (typeof plan extends fc.Arbitrary<infer P> ? P : never)[]) =>
    plans.map(({ vehicleClass, ...rest }, index) => healthy(`v${index}`, { ...rest, vehicle: { vehicleClass } }));
  const scores = (ranking: ReturnType<typeof computeRanking>) =>
    new Map(ranking.ranked.map((row) => [row.vehicle, { score: row.score, heat: row.heat }]));

  it('more exposure never lowers a score', () => {
    fc.assert(
      fc.property(fleet, stretch, (plans, extra) => {
        const before = build(plans);
        const first = before[0]!;
        const row = { ...extra, driveId: first.drives[0]!.driveId };
        const low = Math.floor(row.atC * 2) / 2;
        const seconds = row.minutes * 60;
        const more = {
          ...first,
          dwell: [
            ...first.dwell,
            { ...row, low, high: low + 0.5, seconds, valueSeconds: row.atC * seconds, min: row.atC, max: row.atC },
          ],
        };
        const old = scores(rank(...before)).get('v0');
        const now = scores(rank(more, ...before.slice(1))).get('v0');
        if (old && now) expect(now.score).toBeGreaterThanOrEqual(old.score - 1e-6);
      }),
      { numRuns: 60, interruptAfterTimeLimit: 8_000 },
    );
  });

  it('a vehicle of another class changes nothing for the others', () => {
    fc.assert(
      fc.property(fleet, plan, (plans, other) => {
        const before = build(plans);
        const bus = healthy('z-bus', { ...other, vehicle: { vehicleClass: 'bus' } });
        const now = scores(rank(...before, bus));
        for (const [vehicle, row] of scores(rank(...before))) expect(now.get(vehicle)).toEqual(row);
      }),
      { numRuns: 40, interruptAfterTimeLimit: 8_000 },
    );
  });

  it('the order of the facts does not matter: same bytes', () => {
    fc.assert(
      fc.property(fleet, (plans) => {
        const facts = build(plans);
        const turned = facts
          .map((item) => ({
            ...item,
            drives: [...item.drives].reverse(),
            dwell: [...item.dwell].reverse(),
            signals: [...item.signals].reverse(),
          }))
          .reverse();
        expect(JSON.stringify(rank(...turned))).toBe(JSON.stringify(rank(...facts)));
      }),
      { numRuns: 40, interruptAfterTimeLimit: 8_000 },
    );
  });

  it('splitting drives and dwell into more uploads does not matter', () => {
    fc.assert(
      fc.property(fleet, (plans) => {
        const facts = build(plans);
        const split = facts.map((item) => ({
          ...item,
          drives: item.drives.flatMap((drive) => {
            const middle = (drive.startedMs + drive.endedMs) / 2;
            const half = { ...drive, seconds: drive.seconds / 2, distanceKm: drive.distanceKm! / 2 };
            return [
              { ...half, endedMs: middle },
              { ...half, startedMs: middle, driveId: `${drive.driveId}b` },
            ];
          }),
          dwell: item.dwell.flatMap((row) => {
            const half = { ...row, seconds: row.seconds / 2, valueSeconds: row.valueSeconds / 2 };
            return [half, { ...half, driveId: `${row.driveId}b` }];
          }),
          signals: item.signals.flatMap((row) => {
            const half = { ...row, seconds: row.seconds / 2, valid: row.valid / 2 };
            return [half, statsRow(`${row.driveId}b`, row.signal, { ...half, driveId: `${row.driveId}b` })];
          }),
        }));
        const now = scores(rank(...split));
        for (const [vehicle, row] of scores(rank(...facts))) expect(now.get(vehicle)!.score).toBeCloseTo(row.score, 5);
      }),
      { numRuns: 40, interruptAfterTimeLimit: 8_000 },
    );
  });
});
