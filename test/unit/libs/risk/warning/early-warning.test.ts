// Huber's weights (1964, k = 1.345) from memory; the rest is judgement, no source.
import {
  classEvidence,
  type DriveFeatures,
  earlyWarnings,
  huberRegression,
  type VehicleFeatures,
  WARNING_RULE,
} from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../facts-builder.js';

const AS_OF = 56 * DAY;

/** Repeatable noise in -1..1. */
const noise = (index: number) => Math.sin(index * 12.9898) % 1;

/** Drives every second day for eight weeks: coolant answers to load and outside air, plus `extraK(day)`. */
function vehicle(id: string, number: number, extraK: (day: number) => number = () => 0): VehicleFeatures {
  const drives = Array.from({ length: 28 }, (_item, index): DriveFeatures => {
    const day = index * 2;
    const seed = number * 100 + index;
    const loadPct = 40 + 15 * noise(seed);
    const ambientC = 25 - day / 4 + 4 * noise(seed + 31);
    const heldC = 92 + 0.15 * (loadPct - 40) + 0.1 * (ambientC - 20) + noise(seed + 57) + extraK(day);
    return {
      ...{ driveId: `${id}-${index}`, startedMs: day * DAY + HOUR, seconds: 3600 },
      means: { engine_load_pct: loadPct, vehicle_speed_kmh: 45, ambient_temp_c: ambientC },
      heldC: { coolant_temp_c: heldC },
      sensorK: {},
    };
  });
  return { vehicleId: id, badSignals: [], learnsBelowC: {}, drives };
}

const fleet = (...odd: VehicleFeatures[]) => [
  ...['a', 'b', 'c', 'd', 'e'].map((id, index) => vehicle(id, index)),
  ...odd,
];
const warned = (vehicles: VehicleFeatures[]) => earlyWarnings(vehicles, AS_OF, WARNING_RULE);

describe('early warnings', () => {
  it('are none in a healthy class, through a change of season', () => {
    expect(warned(fleet()).size).toBe(0);
  });

  it('name the vehicle whose coolant rises beyond what its drives explain, far below any limit', () => {
    const found = warned(fleet(vehicle('weak', 9, (day) => Math.max(0, day - 30) / 3)));
    expect([...found.keys()]).toEqual(['weak']);
    const [warning] = found.get('weak')!;
    expect(warning).toMatchObject({ signal: 'coolant_temp_c', recentDrives: 5 });
    expect(warning!.excessK).toBeGreaterThan(5);
    expect(warning!.text).toMatch(/^Coolant runs [\d.]+ K above what load, speed, outside air and length/);
  });

  it('do not come from a harder route: more load explains more heat', () => {
    const hard = vehicle('hard', 9);
    const drives = hard.drives.map((drive) =>
      drive.startedMs < 40 * DAY
        ? drive
        : {
            ...drive,
            means: { ...drive.means, engine_load_pct: drive.means.engine_load_pct! + 25 },
            heldC: { coolant_temp_c: drive.heldC.coolant_temp_c! + 25 * 0.15 },
          },
    );
    expect(warned(fleet({ ...hard, drives })).size).toBe(0);
  });

  it('do not come from one odd drive, nor from a sensor that is not believed', () => {
    const once = vehicle('once', 9, (day) => (day === 50 ? 25 : 0));
    expect(warned(fleet(once)).size).toBe(0);
    const bad = vehicle('bad', 9, (day) => Math.max(0, day - 30) / 3);
    expect(warned(fleet({ ...bad, badSignals: ['coolant_temp_c'] })).size).toBe(0);
  });

  it('do not come from a vehicle that has always run a little warmer than its like', () => {
    expect(warned(fleet(vehicle('warm', 9, () => 1.5))).size).toBe(0);
  });

  it('come sooner where the rise stands in the hard drives than where it stands in the easy ones', () => {
    const rises = (hard: boolean) => {
      const own = vehicle('own', 9);
      const drives = own.drives.map((drive) => {
        const extra = drive.startedMs >= 46 * DAY && drive.means.engine_load_pct! > 42 === hard ? 2.5 : 0;
        return { ...drive, heldC: { coolant_temp_c: drive.heldC.coolant_temp_c! + extra } };
      });
      const evidence = classEvidence(fleet({ ...own, drives }), AS_OF, WARNING_RULE).get('own')!;
      return evidence.leaning?.errors ?? 0;
    };
    expect(rises(true)).toBeGreaterThan(rises(false));
  });

  it('lean before they warn: the evidence grows with the rise, and is none without one', () => {
    const errors = [0, 0.6, 1.2, 2.4].map((riseK) => {
      const own = vehicle('own', 9, (day) => (day >= 46 ? riseK : 0));
      return classEvidence(fleet(own), AS_OF, WARNING_RULE).get('own')!.leaning?.errors ?? 0;
    });
    expect([...errors].sort((a, b) => a - b)).toEqual(errors);
    expect(errors[0]).toBeLessThan(WARNING_RULE.leaning.fromErrors);
    expect(errors[3]!).toBeGreaterThan(WARNING_RULE.standardErrors);
  });

  it('need enough drives of the class and of the last days', () => {
    expect(warned([vehicle('weak', 9, () => 9)].map((item) => ({ ...item, drives: item.drives.slice(-5) }))).size).toBe(
      0,
    );
    const weak = vehicle('weak', 9, (day) => Math.max(0, day - 30) / 3);
    expect(warned(fleet({ ...weak, drives: weak.drives.slice(0, 25) })).size).toBe(0);
  });
});

describe('robust regression', () => {
  const line = fc.record({
    slope: fc.double({ min: -5, max: 5, noNaN: true }),
    offset: fc.double({ min: -50, max: 50, noNaN: true }),
  });

  it('finds the line through most points though a tenth of them stand far off', () => {
    fc.assert(
      fc.property(line, ({ slope, offset }) => {
        const rows = Array.from({ length: 60 }, (_item, index) => [1, index / 10 - 3]);
        const values = rows.map(
          ([, x], index) => offset + slope * x! + 0.1 * noise(index) + (index % 10 === 4 ? 80 : 0),
        );
        const { coefficients } = huberRegression(rows, values);
        expect(coefficients[0]).toBeCloseTo(offset, 0);
        expect(coefficients[1]).toBeCloseTo(slope, 0);
      }),
      { numRuns: 50 },
    );
  });

  it('gives a column that never varies coefficient 0 instead of failing', () => {
    const rows = Array.from({ length: 10 }, (_item, index) => [1, 0, index]);
    const { coefficients } = huberRegression(
      rows,
      rows.map(([, , x]) => 3 + 2 * x!),
    );
    expect(coefficients.map((value) => Math.round(value * 1000) / 1000)).toEqual([3, 0, 2]);
  });
});

describe('evidence that does not warn', () => {
  const said = (own: VehicleFeatures) => classEvidence(fleet(own), AS_OF, WARNING_RULE).get('own')!.leaning!.text;
  const rising = vehicle('own', 9, (day) => (day >= 46 ? 9 : 0));
  const drivesOf = (wanted: (day: number) => boolean) => ({
    ...rising,
    drives: rising.drives.filter(({ startedMs }) => wanted(Math.floor(startedMs / DAY))),
  });

  it('says what is missing: kelvins, drives, earlier drives, or a second hot one', () => {
    expect(said(vehicle('own', 9, (day) => (day >= 46 ? 0.3 : 0)))).toMatch(
      /^Coolant leans [\d.]+ K above what its last 5 drives explain; [\d.]+ K would be told from chance\. Nothing/,
    );
    expect(said(drivesOf((day) => day < 46 || day > 52))).toContain(
      'what its last drive explains; a warning needs 3 drives.',
    );
    expect(said(drivesOf((day) => day >= 44))).toContain('needs 2 earlier drives to hold it against, there is 1.');
    const once = vehicle('own', 9, (day) => (day === 54 ? 5 : 0));
    const drives = once.drives.filter(({ startedMs }) => startedMs < 46 * DAY || startedMs > 50 * DAY);
    expect(said({ ...once, drives })).toContain('one of them alone makes most of it.');
  });
});
