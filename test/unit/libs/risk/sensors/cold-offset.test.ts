// Common practice, no source: after a night everything in a vehicle has the temperature of the air. Limits are judgement.
import type { SignalId } from '@tallybay/decode';
import {
  coldOffsets,
  DEFAULT_RULES,
  earlyWarnings,
  NO_CLASS_AIR,
  SENSOR_RULE,
  type VehicleFacts,
  vehicleFeatures,
  WARNING_RULE,
} from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR, vehicleFacts, WINDOW } from '../facts-builder.js';

type Firsts = Partial<Record<SignalId, number>>;

/** One drive of an hour a day for as many days before the week's end as there are first values. */
function started(firsts: readonly Firsts[], maxC: (index: number) => number = () => 92, id = 'v'): VehicleFacts {
  const earlierDrives = firsts.map((first, index) => {
    const startedMs = WINDOW.toMs - (firsts.length - index) * DAY + 8 * HOUR;
    const glances = Object.entries(first).map(([signal, value]) => [
      signal,
      { first: value, mean: 60, max: signal === 'coolant_temp_c' ? maxC(index) : 60 },
    ]);
    return {
      ...{ driveId: `${id}-${index}`, startedMs, endedMs: startedMs + HOUR, seconds: 3600 },
      signals: Object.fromEntries(glances),
    };
  });
  return { ...vehicleFacts({ id }), drives: [], signals: [], dwell: [], earlierDrives };
}
const fluids = (coolantC: number): Firsts => ({
  coolant_temp_c: coolantC,
  engine_oil_temp_c: 15,
  trans_fluid_temp_c: 15.5,
  ambient_temp_c: 15,
});
const air = (coolantC: number): Firsts => ({ coolant_temp_c: coolantC, intake_air_temp_c: 15, ambient_temp_c: 14 });
const offset = (firsts: readonly Firsts[], signal: 'coolant_temp_c' | 'engine_oil_temp_c' = 'coolant_temp_c') =>
  coldOffsets(started(firsts), SENSOR_RULE, NO_CLASS_AIR)(signal, WINDOW.toMs - 12 * HOUR);

describe('what a sensor reads too high', () => {
  it('is the least by which it stood above all others at the nearest three cold starts', () => {
    expect(offset([15, 19, 21, 20, 22].map(fluids))).toBeCloseTo(4.5, 9);
    // The first known drive is no cold start; one is enough with other fluids.
    expect(offset([15, 20].map(fluids))).toBeCloseTo(4.5, 9);
    expect(offset([20].map(fluids))).toBe(0);
  });

  it('is nothing within what honest sensors differ, below the others, or for those that the high one makes look low', () => {
    expect(offset([17, 17, 17, 18].map(fluids))).toBe(0);
    expect(offset([5, 5, 5, 5].map(fluids))).toBe(0);
    expect(offset([22, 22, 22, 22].map(fluids), 'engine_oil_temp_c')).toBe(0);
  });

  it('is nothing where a single start says so, as after a heater or a drive that nobody recorded', () => {
    expect(offset([15, 15, 40, 15].map(fluids))).toBe(0);
    const warm = { coolant_temp_c: 30, engine_oil_temp_c: 26, trans_fluid_temp_c: 22, ambient_temp_c: 20 };
    expect(offset([warm, warm, warm, warm])).toBe(0);
  });

  it('needs more starts with air alone, and leaves warmth that a stop may have left to the engine', () => {
    // 23 hours after engine off: 70 K x e^(-23 / 4) = 0.22 K.
    expect(offset([20, 20, 20, 20].map(air))).toBeCloseTo(5 - 70 * Math.exp(-23 / 4), 6);
    expect(offset([20, 20, 20].map(air))).toBe(0);
  });

  it('is also what it rose by over its own usual place, while it still stands within the others', () => {
    const low = (coolantC: number): Firsts => ({ ...fluids(coolantC), ambient_temp_c: 20 });
    const before = [15, 15, 16, 15, 15];
    expect(offset([...before, 19, 20, 19].map(low))).toBeCloseTo(4, 9);
    // One of the three did not rise; too few starts before them; a sensor that always comes and goes as far.
    expect(offset([...before, 20, 15, 20].map(low))).toBe(0);
    expect(offset([15, 15, 19, 20, 19].map(low))).toBe(0);
    expect(offset([15, 12, 19, 14, 18, 11, 19, 20, 19].map(low))).toBe(0);
  });

  it('is of the time of the drive: an older drive goes by older starts', () => {
    const grows = started([15, 15, 15, 15, 15, 15, 20, 21, 22, 23].map(fluids));
    const at = (day: number) =>
      coldOffsets(grows, SENSOR_RULE, NO_CLASS_AIR)('coolant_temp_c', WINDOW.toMs - day * DAY);
    expect([at(9), at(6), at(0)].map((value) => Math.round(value * 10) / 10)).toEqual([0, 0, 6]);
  });
});

describe('a coolant sensor that drifts', () => {
  const days = 24;
  const noise = (index: number) => Math.sin(index * 12.9898) % 1;
  const vehicle = (id: string, number: number, { hotK = 0, highK = 0 }) => {
    const late = (index: number) => (index >= days - 9 ? 1 : 0);
    const firsts = Array.from({ length: days }, (_item, index) => fluids(15 + highK * late(index)));
    const facts = started(firsts, (index) => 92 + noise(number * 50 + index) + (hotK + highK) * late(index), id);
    return vehicleFeatures(facts, [], DEFAULT_RULES);
  };
  const well = ['a', 'b', 'c', 'd'].map((id, index) => vehicle(id, index, {}));
  const warnings = (change: { hotK?: number; highK?: number }) =>
    earlyWarnings([...well, vehicle('own', 9, change)], WINDOW.toMs, WARNING_RULE).get('own');

  it('is no weakening cooling, and hides none', () => {
    expect(warnings({ highK: 6 })).toBeUndefined();
    expect(warnings({ hotK: 6 })).toMatchObject([{ signal: 'coolant_temp_c' }]);
    const both = warnings({ hotK: 6, highK: 6 })!;
    // The warmest of the others stood half a kelvin higher than the air: so much stays.
    expect(Math.abs(both[0]!.excessK - warnings({ hotK: 6 })![0]!.excessK)).toBeLessThan(1);
    expect(both[0]!.text).toContain(', less up to 6 K by which its sensor stood too high at cold starts:');
  });

  it('is nothing or a true excess, never a negative one and never more than its starts differ by', () => {
    fc.assert(
      fc.property(fc.array(fc.integer({ min: 5, max: 40 }), { minLength: days, maxLength: days }), (coolantC) => {
        const offsets = coldOffsets(started(coolantC.map(fluids)), SENSOR_RULE, NO_CLASS_AIR);
        const found = coolantC.map((_value, index) => offsets('coolant_temp_c', WINDOW.toMs - index * DAY));
        expect(found.every((value) => value === 0 || value >= SENSOR_RULE.offset.leastK)).toBe(true);
        expect(Math.max(...found)).toBeLessThanOrEqual(Math.max(...coolantC) - Math.min(15, ...coolantC));
      }),
      { numRuns: 50 },
    );
  });
});
