// Judgement, no source: what the early warning is made of must agree with the warning itself.
import {
  type DriveFeatures,
  earlyWarnings,
  type VehicleFeatures,
  vehicleResiduals,
  WARNING_RULE,
} from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { DAY, HOUR } from '../facts-builder.js';

const AS_OF = 56 * DAY;
const noise = (index: number) => Math.sin(index * 12.9898) % 1;

function vehicle(id: string, number: number, extraK: (day: number) => number = () => 0): VehicleFeatures {
  const drives = Array.from({ length: 28 }, (_item, index): DriveFeatures => {
    const [day, seed] = [index * 2, number * 100 + index];
    const loadPct = 40 + 15 * noise(seed);
    const heldC = 92 + 0.15 * (loadPct - 40) + noise(seed + 57) + extraK(day);
    return {
      ...{ driveId: `${id}-${index}`, startedMs: day * DAY + HOUR, seconds: 3600 },
      means: { engine_load_pct: loadPct, vehicle_speed_kmh: 45, ambient_temp_c: 20 },
      heldC: { coolant_temp_c: heldC },
      sensorK: {},
    };
  });
  return { vehicleId: id, badSignals: [], learnsBelowC: {}, drives };
}
const fleet = (...odd: VehicleFeatures[]) => [...['a', 'b', 'c', 'd'].map((id, index) => vehicle(id, index)), ...odd];
const coolantOf = (vehicles: VehicleFeatures[], id: string) =>
  vehicleResiduals(vehicles, id, AS_OF, WARNING_RULE).find(({ signal }) => signal === 'coolant_temp_c')!;

describe('residuals of one vehicle', () => {
  it('exceed their threshold exactly when the vehicle is warned of, with the same figures', () => {
    fc.assert(
      fc.property(fc.double({ min: -10, max: 20, noNaN: true }), fc.integer({ min: 20, max: 50 }), (riseK, fromDay) => {
        const vehicles = fleet(vehicle('own', 9, (day) => (day >= fromDay ? riseK : 0)));
        const warning = earlyWarnings(vehicles, AS_OF, WARNING_RULE).get('own')?.[0];
        const { excess } = coolantOf(vehicles, 'own');
        expect(excess!.warns).toBe(warning !== undefined);
        if (excess!.warns) expect(excess!.excessK).toBeGreaterThanOrEqual(excess!.thresholdK);
        if (warning) expect(excess).toMatchObject({ excessK: warning.excessK, thresholdK: warning.thresholdK });
      }),
      { numRuns: 30 },
    );
  });

  it('are the highest temperature less what the drive explains, for every drive that is long enough', () => {
    const own = vehicle('own', 9);
    const drives = own.drives.map((drive, index) => (index === 3 ? { ...drive, seconds: 60 } : drive));
    const { residuals, state } = coolantOf(fleet({ ...own, drives }), 'own');
    expect(state).toBe('ok');
    expect(residuals).toHaveLength(27);
    for (const { kelvin, heldC, explainedC } of residuals) expect(kelvin).toBeCloseTo(heldC - explainedC, 9);
  });

  it('say why there are none: that is no all-clear', () => {
    expect(coolantOf(fleet({ ...vehicle('own', 9), badSignals: ['coolant_temp_c'] }), 'own').state).toBe('bad_sensor');
    expect(coolantOf([{ ...vehicle('own', 9), drives: vehicle('own', 9).drives.slice(0, 9) }], 'own').state).toBe(
      'few_class_drives',
    );
    expect(coolantOf(fleet({ ...vehicle('own', 9), drives: [] }), 'own').state).toBe('no_drives');
    const short = coolantOf(fleet({ ...vehicle('own', 9), drives: vehicle('own', 9).drives.slice(0, 5) }), 'own');
    expect(short).toMatchObject({ state: 'ok', excess: null });
  });
});
