// Common practice, no source: after a night everything in a vehicle has the temperature of the air, but a sensor of the air may
// sit where it reads warmer, in every vehicle of a kind alike. Limits are judgement.
import type { SignalId } from '@tallybay/decode';
import { classAir, coldOffsets, DEFAULT_RULES, SENSOR_RULE, sensorFindings, type VehicleFacts } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { HOUR, vehicleFacts, WINDOW } from '../facts-builder.js';

type Firsts = Partial<Record<SignalId, number>>;

/** Five drives, each started cold with these values. */
function vehicle(id: string, firsts: Firsts): VehicleFacts {
  const signals = Object.keys(firsts) as SignalId[];
  const facts = vehicleFacts({ id, signals, driveHours: [2, 2, 2, 2, 2] });
  return { ...facts, signals: facts.signals.map((row) => ({ ...row, first: firsts[row.signal as SignalId]! })) };
}
const van = (id: string, coolantC = 15, intakeC = 29) =>
  vehicle(id, { coolant_temp_c: coolantC, intake_air_temp_c: intakeC });
const bus = (id: string, coolantC = 15) =>
  vehicle(id, { coolant_temp_c: coolantC, intake_air_temp_c: 24, ambient_temp_c: 23 });

const accused = (members: readonly VehicleFacts[]) => {
  const air = classAir(members, SENSOR_RULE);
  return members
    .filter((facts) => sensorFindings(facts, DEFAULT_RULES, air).length > 0)
    .map((facts) => facts.vehicle.id);
};

describe('a class whose intake air sensors all sit warm', () => {
  it('accuses no coolant sensor of reading low', () => {
    expect(accused([van('a'), van('b', 16, 30), van('c', 14, 28), van('d')])).toEqual([]);
  });

  it('tells the one that drifts by what the others read', () => {
    const members = [van('a'), van('b', 16, 30), van('c', 14, 28), van('high', 24, 29)];
    expect(accused(members)).toEqual(['high']);
    const [finding] = sensorFindings(members[3]!, DEFAULT_RULES, classAir(members, SENSOR_RULE));
    expect(finding?.text).toBe(
      'Coolant read 9 K above what others of its class read at 4 cold starts: drift or a wrong unit.',
    );
  });

  it('believes the vehicle’s own intake sensor about a night that was warmer where it stood', () => {
    expect(accused([van('a'), van('b'), van('c'), van('elsewhere', 21, 35)])).toEqual([]);
    expect(accused([van('a'), van('b'), van('c'), van('broken intake', 15, 50)])).toEqual([]);
  });

  it('goes by the middle of the neighbours, so that two bad ones among five accuse nobody else', () => {
    const members = [van('a'), van('b'), van('c'), van('high', 30), van('higher', 60)];
    expect(accused(members)).toEqual(['high', 'higher']);
  });

  it('takes from a drive’s excess what its coolant sensor stood above the others’ at cold starts', () => {
    const members = [van('a'), van('b'), van('c'), van('young drift', 19)];
    const [offset] = members
      .slice(3)
      .map((facts) => coldOffsets(facts, SENSOR_RULE, classAir(members, SENSOR_RULE)))
      .map((offsets) => offsets('coolant_temp_c', WINDOW.toMs - 12 * HOUR));
    expect(offset).toBeGreaterThan(3);
    expect(offset).toBeLessThanOrEqual(4);
    expect(accused(members)).toEqual([]);
  });
});

describe('a class whose two air sensors both sit warm', () => {
  it('accuses nobody but the one that stands apart from its class', () => {
    expect(accused([bus('a'), bus('b'), bus('c')])).toEqual([]);
    expect(accused([bus('a'), bus('b'), bus('c'), bus('low', 7)])).toEqual(['low']);
    expect(accused([bus('a'), bus('b'), bus('c'), bus('high', 30)])).toEqual(['high']);
  });

  it('is not known to be one while a vehicle is alone', () => {
    expect(accused([bus('a')])).toEqual(['a']);
  });
});

describe('one sensor of the air that does not agree with the fluids', () => {
  const full = (coolantC: number, oilC = 15, air: Firsts = { intake_air_temp_c: 29, ambient_temp_c: 17 }) =>
    vehicle('v', { coolant_temp_c: coolantC, engine_oil_temp_c: oilC, trans_fluid_temp_c: 15, ...air });

  it('is left out where the other one agrees, so that a drift is still found', () => {
    expect(accused([full(24)])).toEqual(['v']);
    expect(accused([full(24, 15, { intake_air_temp_c: 17, ambient_temp_c: -4 })])).toEqual(['v']);
    expect(accused([full(16)])).toEqual([]);
  });

  it('is not left out where it is the only one, nor a fluid that a stop left warm', () => {
    expect(accused([full(24, 15, { intake_air_temp_c: 29 })])).toEqual([]);
    expect(accused([full(36, 28, { intake_air_temp_c: 16, ambient_temp_c: 15 })])).toEqual([]);
  });
});
