// Weights and words are ours; no outside source.
import { computeRanking, DEFAULT_RULES, type SnapshotFact, shiftWeek } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import {
  DAY,
  healthySnapshot,
  rankingInput,
  type SnapshotPlan,
  snapshotFact,
  vehicleFacts,
  WINDOW,
} from '../facts-builder.js';

const on = (day: number, plan: Omit<SnapshotPlan, 'atMs'> = {}): SnapshotFact =>
  snapshotFact({ atMs: WINDOW.fromMs + day * DAY, ...plan });
const rowOf = (snapshots: SnapshotFact[], vehicle = {}) => {
  const facts = vehicleFacts({ id: 'v', snapshots, vehicle });
  return computeRanking(rankingInput([facts])).ranked[0]!;
};

describe('the codes component', () => {
  it('is 0 for a snapshot that read codes and found none, null where none was read', () => {
    expect(rowOf([healthySnapshot()]).codes).toEqual({ score: 0, state: 'ok', note: null });
    const unread = { pending: false, confirmed: false, permanent: false, monitors: true };
    expect(rowOf([on(1, { change: { read: unread } })]).codes).toMatchObject({ score: null, state: 'no_data' });
  });

  it('grows with severity, status and returns', () => {
    const score = (...snapshots: SnapshotFact[]) => rowOf(snapshots).codes.score!;
    const pending = score(on(1, { codes: [['P0301', 'pending']] }));
    const confirmed = score(on(1, { codes: [['P0301', 'confirmed']] }));
    const returned = score(
      on(-20, { codes: [['P0301', 'confirmed']] }),
      on(-10),
      on(1, { codes: [['P0301', 'confirmed']] }),
    );
    const evap = score(on(1, { codes: [['P0455', 'confirmed']] }));
    expect(pending).toBeLessThan(confirmed);
    expect(confirmed).toBeLessThan(returned);
    expect(evap).toBeLessThan(confirmed);
  });

  it('says in words what came back, when and after what', () => {
    const row = rowOf([
      on(-20, {
        codes: [['P0301', 'confirmed', 'engine']],
        counters: { warmUpsSinceClear: 60 },
        change: { odometerKm: 5_000 },
      }),
      on(1, {
        codes: [['P0301', 'confirmed', 'engine']],
        counters: { warmUpsSinceClear: 9 },
        change: { odometerKm: 5_600 },
      }),
    ]);
    expect(row.reasons[0]).toMatchObject({
      text: 'P0301 (Misfire in cylinder 1) in engine is confirmed; came back once in 90 days, last after it was cleared (21 days, 600 km after it was last seen).',
      evidence: [
        { kind: 'code', id: 'P0301' },
        { kind: 'upload', id: `s-${WINDOW.fromMs + DAY}` },
      ],
    });
  });

  it('is stale, not 0, when the newest reading is too old, and says what was active then', () => {
    const row = rowOf([on(-40, { codes: [['P0217', 'confirmed']] })]);
    expect(row.codes).toMatchObject({ score: null, state: 'stale' });
    expect(row.codes.note).toBe('The newest snapshot that read codes is 47 days old (limit 35); then active: P0217.');
  });
});

describe('the readiness component', () => {
  const two = on(4, {
    change: {
      monitors: [
        { id: 'catalyst', supported: true, complete: false },
        { id: 'evap', supported: true, complete: false },
      ],
    },
  });

  it('weighs a refusal by how near the inspection is', () => {
    const score = (inspectionDue?: string) => rowOf([two], { inspectionDue }).readiness.score!;
    expect(score('2026-10-20')).toBeCloseTo(0.6, 9);
    expect(score('2026-09-01')).toBeCloseTo(0.6, 9);
    expect(score('2026-11-20')).toBeCloseTo(0.48, 9);
    expect(score('2027-11-20')).toBeCloseTo(0.3, 9);
    expect(score()).toBeCloseTo(0.42, 9);
  });

  it('names the rule, the monitors and the date', () => {
    expect(rowOf([two], { inspectionDue: '2026-10-20' }).reasons.map(({ text }) => text)).toContain(
      'Emissions inspection would be refused as not ready under "Federal on-board diagnostic test": Not complete: catalyst, evaporative system; inspection due 2026-10-20.',
    );
  });

  it('shows a clear that was made shortly before', () => {
    const before = on(-3, { counters: { warmUpsSinceClear: 80 } });
    const row = rowOf([before, { ...two, counters: { ...two.counters, warmUpsSinceClear: 1 } }]);
    expect(row.reasons.map(({ text }) => text)).toContain(
      'Codes were cleared lately (warm-ups since clear went from 80 to 1) and catalyst, evaporative system have not completed since.',
    );
    expect(row.readiness.score!).toBeGreaterThan(rowOf([two]).readiness.score!);
  });

  it('is stale after five weeks and 0 with a note when not subject', () => {
    expect(rowOf([on(-40)]).readiness).toMatchObject({ score: null, state: 'stale' });
    expect(rowOf([healthySnapshot()], { modelYear: 1990 }).readiness).toMatchObject({ score: 0, state: 'ok' });
  });

  it('follows the programme of the rule set, and a rule set that names none of its own is an error', () => {
    const rules = { ...DEFAULT_RULES, readiness: { ...DEFAULT_RULES.readiness, programme: 'california' } };
    const facts = vehicleFacts({ id: 'v', snapshots: [on(4, { codes: [['P0455', 'confirmed']] })] });
    expect(computeRanking(rankingInput([facts]), rules).ranked[0]!.inputs.readiness).toMatchObject({
      verdict: 'would_fail',
    });
    const wrong = { ...rules, readiness: { ...rules.readiness, programme: 'elsewhere' } };
    expect(() => computeRanking(rankingInput([facts]), wrong)).toThrow(/no programme "elsewhere"/);
  });
});

describe('a missing component', () => {
  it('counts a little more than a healthy one and less than a finding', () => {
    const plans = { a: [on(1, { codes: [['P0455', 'pending']] })], b: [healthySnapshot()], c: [] };
    const facts = Object.entries(plans).map(([id, snapshots]) =>
      vehicleFacts({ id, snapshots: snapshots as SnapshotFact[] }),
    );
    const ranking = computeRanking(rankingInput(facts));
    const row = ranking.ranked.find(({ vehicle }) => vehicle === 'c')!;
    expect(row.codes.score).toBeNull();
    expect(row.inputs.assumed).toEqual({ codes: 0.05, readiness: 0.05 });
    expect(ranking.ranked.map(({ vehicle }) => vehicle)).toEqual(['c', 'a', 'b']);
  });

  it('a pending code that comes and goes has not returned; one that was cleared has', () => {
    const flicker = [on(-9, { codes: [['P0301', 'pending']] }), on(-6), on(1, { codes: [['P0301', 'pending']] })];
    const cleared = flicker.map((snapshot, index) => ({
      ...snapshot,
      counters: { ...snapshot.counters, warmUpsSinceClear: index === 0 ? 50 : index },
    }));
    expect(rowOf(flicker).reasons[0]!.text).not.toMatch(/came back/);
    expect(rowOf(cleared).reasons[0]!.text).toMatch(/came back once in 90 days, last after it was cleared/);
  });

  it('oil and transmission can accuse a vehicle without coolant, but not clear it', () => {
    const plan = (atC: number) =>
      vehicleFacts({
        id: 'v',
        snapshots: [healthySnapshot()],
        signals: ['engine_oil_temp_c'],
        stretches: [[{ signal: 'engine_oil_temp_c', atC, minutes: 20 }]],
      });
    const heat = (atC: number) => computeRanking(rankingInput([plan(atC)])).ranked[0]!.heat;
    expect(heat(100)).toEqual({
      ...{ score: null, state: 'no_data' },
      note: 'No coolant temperature was recorded; engine oil alone cannot clear the vehicle.',
    });
    expect(heat(132)).toMatchObject({
      state: 'ok',
      note: 'No coolant temperature was recorded; judged on engine oil.',
    });
    expect(heat(132).score!).toBeGreaterThan(0.2);
  });
});

it('a bad week is refused', () => {
  expect(() => computeRanking(rankingInput([], { week: shiftWeek('2026-W53', 0).replace('2026', '2027') }))).toThrow(
    expect.objectContaining({ code: 'week_invalid' }),
  );
});
