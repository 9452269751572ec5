// Physical reasoning, no outside source; boiling of 50/50 glycol under a 15 psi cap 131 °C (published tables, common practice).
import {
  classAir,
  computeRanking,
  DEFAULT_RULES,
  type SignalFact,
  sensorFindings,
  type VehicleFacts,
} from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR, rankingInput, statsRow, type VehiclePlan, vehicleFacts, WINDOW } from '../facts-builder.js';

const kinds = (facts: VehicleFacts) =>
  sensorFindings(facts, DEFAULT_RULES).map(({ signal, kind }) => `${signal} ${kind}`);
/** Facts whose coolant figures are the same in every drive. */
const coolant = (change: Partial<SignalFact>, plan: Partial<VehiclePlan> = {}): VehicleFacts => {
  const facts = vehicleFacts({ id: 'v', ...plan });
  return {
    ...facts,
    signals: facts.signals.map((row) => (row.signal === 'coolant_temp_c' ? { ...row, ...change } : row)),
  };
};

describe('sensor findings', () => {
  it('are none for a healthy vehicle, nor for one that truly overheats', () => {
    expect(kinds(vehicleFacts({ id: 'v' }))).toEqual([]);
    const hot = vehicleFacts({ id: 'v', stretches: [[{ signal: 'coolant_temp_c', atC: 128, minutes: 90 }]] });
    expect(kinds(hot)).toEqual([]);
  });

  it('stuck: one value and nothing else in several drives', () => {
    expect(kinds(coolant({ min: 118, max: 118, first: 118, last: 118, mean: 118 }))).toEqual(['coolant_temp_c stuck']);
  });

  it('stuck: standing still for a good part of the week', () => {
    expect(kinds(coolant({ stuckSeconds: 3_000 }))).toEqual(['coolant_temp_c stuck']);
    expect(kinds(coolant({ stuckSeconds: 100 }))).toEqual([]);
  });

  it('open circuit: values outside the possible range', () => {
    expect(kinds(coolant({ outOfRange: 9_000, valid: 27_000 }))).toEqual(['coolant_temp_c out_of_range']);
    expect(kinds(coolant({ outOfRange: 3 }))).toEqual([]);
  });

  it('open circuit for the whole week: nothing valid at all', () => {
    const none = {
      outOfRange: 36_000,
      valid: 0,
      min: null,
      max: null,
      first: null,
      last: null,
      mean: null,
      seconds: 0,
    };
    expect(kinds(coolant(none))).toEqual(['coolant_temp_c out_of_range']);
  });

  it('loose contact: jumps faster than a fluid can', () => {
    expect(kinds(coolant({ jump: 800 }))).toEqual(['coolant_temp_c jumping']);
    expect(kinds(coolant({ jump: 3 }))).toEqual([]);
  });

  it('°F under a °C header: impossible for a pressurised fluid', () => {
    const wrong = vehicleFacts({ id: 'v', stretches: [[{ signal: 'coolant_temp_c', atC: 195, minutes: 60 }]] });
    expect(kinds(wrong)).toEqual(['coolant_temp_c impossible']);
    const second = vehicleFacts({ id: 'v', stretches: [[{ signal: 'coolant_temp_c', atC: 195, minutes: 0.5 }]] });
    expect(kinds(second)).toEqual([]);
  });

  it('°C under a °F header: a warm engine that reads like a cold one', () => {
    expect(kinds(coolant({ min: -8, max: 34, mean: 30, first: -8 }))).toEqual(['coolant_temp_c never_warm']);
  });

  const fluids = { signals: ['coolant_temp_c', 'engine_oil_temp_c', 'ambient_temp_c'] } satisfies Partial<VehiclePlan>;

  it('drift: apart from oil and ambient at cold starts', () => {
    expect(kinds(coolant({ first: 45 }, fluids))).toEqual(['coolant_temp_c cold_start']);
    expect(kinds(coolant({ first: 19 }, fluids))).toEqual([]);
  });

  it('drift: less is enough where the others agree closely', () => {
    // Oil and ambient both start at 15 °C.
    expect(kinds(coolant({ first: 22 }, fluids))).toEqual(['coolant_temp_c cold_start']);
    const apart = coolant({ first: 22 }, fluids);
    const signals = apart.signals.map((row) => (row.signal === 'engine_oil_temp_c' ? { ...row, first: 18 } : row));
    expect(kinds({ ...apart, signals })).toEqual([]);
  });

  it('drift does not heal in a week without cold starts: earlier ones count, newer ones overrule them', () => {
    const week = coolant({ first: 80 }, { ...fluids, driveHours: [2] });
    const earlier = (daysBefore: number, first: number): VehicleFacts['earlierDrives'][number] => ({
      ...{ driveId: `e${daysBefore}`, seconds: 3600 },
      startedMs: WINDOW.fromMs - daysBefore * DAY,
      endedMs: WINDOW.fromMs - daysBefore * DAY + HOUR,
      signals: {
        coolant_temp_c: { first, mean: 90, max: 100 },
        engine_oil_temp_c: { first: 15, mean: 90, max: 100 },
        ambient_temp_c: { first: 15, mean: 15, max: 15 },
      },
    });
    const drifted = [earlier(6, 15), earlier(5, 28), earlier(4, 28)];
    expect(kinds({ ...week, drives: [], signals: [], earlierDrives: drifted })).toEqual(['coolant_temp_c cold_start']);
    const replaced = [...drifted, earlier(3, 15), earlier(2, 15), earlier(1, 15)];
    expect(kinds({ ...week, drives: [], signals: [], earlierDrives: replaced })).toEqual([]);
  });

  it('drift so large that one cold start is enough', () => {
    expect(kinds(coolant({ first: 45 }, { ...fluids, driveHours: [2, 2] }))).toEqual(['coolant_temp_c cold_start']);
    expect(kinds(coolant({ first: 26 }, { ...fluids, driveHours: [2, 2] }))).toEqual([]);
  });

  describe('with only air to compare with', () => {
    const air = { signals: ['coolant_temp_c', 'ambient_temp_c', 'intake_air_temp_c'] } satisfies Partial<VehiclePlan>;
    /** Own first values, drive by drive, against 15 °C of air; the engine then warms up to 92 °C. */
    const starts = (...firsts: number[]): VehicleFacts => {
      const facts = vehicleFacts({ id: 'v', ...air, driveHours: firsts.map(() => 2) });
      const first = (driveId: string) => firsts[facts.drives.findIndex((drive) => drive.driveId === driveId)]!;
      return {
        ...facts,
        signals: facts.signals.map((row) =>
          row.signal === 'coolant_temp_c' ? { ...row, first: first(row.driveId) } : row,
        ),
      };
    };

    it('drift: the same distance at every start, or one that grows slowly', () => {
      expect(kinds(starts(15, 26, 26, 27, 26))).toEqual(['coolant_temp_c cold_start']);
      expect(kinds(starts(23, 24, 25, 26, 27))).toEqual(['coolant_temp_c cold_start']);
      expect(kinds(starts(15, 4, 4, 5, 4))).toEqual(['coolant_temp_c cold_start']);
    });

    it('no drift: warmth that a stop left, that comes and goes, or that every drive lacks but one', () => {
      expect(kinds(starts(17, 18, 17, 18, 17))).toEqual([]);
      expect(kinds(starts(35, 48, 33, 52, 36))).toEqual([]);
      expect(kinds(starts(26, 26, 15, 26, 26))).toEqual([]);
    });

    it('no drift where the recorder wakes when the engine is warm', () => {
      expect(kinds(starts(85, 86, 85, 86, 85))).toEqual([]);
    });

    it('nothing in fewer starts than the rule asks for', () => {
      expect(kinds(starts(15, 40, 40))).toEqual([]);
    });
  });

  describe('with coolant alone', () => {
    const alone = (id: string, first: number): VehicleFacts => {
      const facts = vehicleFacts({ id });
      return { ...facts, signals: facts.signals.map((row) => ({ ...row, first })) };
    };
    const drifted = alone('v', 34);
    const found = (...others: VehicleFacts[]) =>
      sensorFindings(drifted, DEFAULT_RULES, classAir([drifted, ...others], DEFAULT_RULES.sensors));

    it('the neighbours’ cold starts say what the air was', () => {
      const [finding] = found(alone('a', 15), alone('b', 16), alone('c', 15));
      expect(finding).toMatchObject({ signal: 'coolant_temp_c', kind: 'cold_start' });
      expect(finding?.text).toBe(
        'Coolant read 19 K above what others of its class read at 4 cold starts: drift or a wrong unit.',
      );
    });

    it('too few neighbours, or such as disagree, say nothing', () => {
      expect(found(alone('a', 15))).toEqual([]);
      expect(found(alone('a', 5), alone('b', 15), alone('c', 40))).toEqual([]);
      expect(found(alone('a', 33), alone('b', 34), alone('c', 32))).toEqual([]);
    });

    it('the ranking does not take it for heat', () => {
      const hot = vehicleFacts({ id: 'v', stretches: [[{ signal: 'coolant_temp_c', atC: 125, minutes: 60 }]] });
      const lying = { ...hot, signals: hot.signals.map((row) => ({ ...row, first: 34 })) };
      const rank = (vehicles: VehicleFacts[]) =>
        computeRanking(rankingInput(vehicles)).ranked.find(({ vehicle }) => vehicle === 'v')?.heat.score ?? null;
      expect(rank([lying])).toBeGreaterThan(0.5);
      expect(rank([lying, alone('a', 15), alone('b', 16), alone('c', 15)])).toBeNull();
    });
  });

  it('a wrong unit in one temperature makes the recorder’s others doubtful too', () => {
    const wrong = vehicleFacts({
      id: 'v',
      signals: ['coolant_temp_c', 'charge_air_temp_c'],
      stretches: [[{ signal: 'coolant_temp_c', atC: 195, minutes: 60 }]],
    });
    expect(kinds(wrong)).toEqual(['coolant_temp_c impossible', 'charge_air_temp_c wrong_unit']);
  });

  it('stuck hot: one drive is enough, a healthy thermostat holding one value is not', () => {
    const one = (value: number) => {
      const facts = vehicleFacts({ id: 'v' });
      const flat = { min: value, max: value, first: value, last: value, mean: value };
      return { ...facts, signals: facts.signals.map((row, index) => (index === 4 ? { ...row, ...flat } : row)) };
    };
    expect(kinds(one(118))).toEqual(['coolant_temp_c stuck']);
    expect(kinds(one(88))).toEqual([]);
  });

  it('no judgement of cold starts when the engine was warm or the others disagree', () => {
    const warm = coolant({ first: 80 }, fluids);
    const oil = warm.signals.map((row) => (row.signal === 'engine_oil_temp_c' ? { ...row, first: 70 } : row));
    expect(kinds({ ...warm, signals: oil })).toEqual([]);
    expect(kinds(coolant({ first: 45 }, { ...fluids, driveHours: [2] }))).toEqual([]);
  });

  it('coolant far above oil in long drives: one of the two is wrong', () => {
    expect(kinds(coolant({ mean: 125, max: 130 }, fluids))).toEqual(['coolant_temp_c disagrees']);
  });

  it('finds nothing in a signal that the vehicle does not have', () => {
    expect(kinds({ ...vehicleFacts({ id: 'v' }), signals: [statsRow('v-d1', 'engine_speed_rpm')] })).toEqual([]);
  });
});
