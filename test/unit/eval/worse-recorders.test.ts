import { describe, expect, it } from 'vitest';
import { isLost, isWithout, temperatureError, WORSE_RECORDERS } from '../../eval/fleet/worse-recorders.js';
import { optionsOf } from '../../eval/seed-task.js';

const DRIVES = Array.from({ length: 3000 }, (_, index) => ({ vehicle: `KV-${index % 40}`, ordinal: index }));

function deviation(values: readonly number[]): number {
  const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
  return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (values.length - 1));
}

describe('recorders made worse', () => {
  it('lose the share of drives that they say, and the same ones in every run', () => {
    const lost = DRIVES.filter((drive) => isLost(WORSE_RECORDERS['drives-lost'], drive));
    expect(lost.length / DRIVES.length).toBeCloseTo(1 / 3, 1);
    expect(DRIVES.filter((drive) => isLost(WORSE_RECORDERS['drives-lost'], drive))).toEqual(lost);
    expect(DRIVES.some((drive) => isLost(WORSE_RECORDERS.none, drive))).toBe(false);
  });

  it('leave out what they say', () => {
    expect(isWithout(WORSE_RECORDERS['coolant-only'], 'ambient_temp_c')).toBe(true);
    expect(isWithout(WORSE_RECORDERS['coolant-only'], 'coolant_temp_c')).toBe(false);
    expect(isWithout(WORSE_RECORDERS.none, 'ambient_temp_c')).toBe(false);
  });

  it('read as much too warm, in every vehicle and drive, as the place of a sensor says', () => {
    const errors = DRIVES.map((drive) =>
      temperatureError(WORSE_RECORDERS['warm-intake'], 'intake_air_temp_c', drive)!(20),
    );
    expect(new Set(errors)).toEqual(new Set([12]));
    expect(temperatureError(WORSE_RECORDERS['warm-intake'], 'coolant_temp_c', DRIVES[0]!)).toBeNull();
  });

  it('are off by the spread that they say: drive by drive, or a vehicle for good and only where it is warm', () => {
    const byDrive = DRIVES.map((drive) =>
      temperatureError(WORSE_RECORDERS['off-by-drive'], 'engine_oil_temp_c', drive)!(90),
    );
    expect(deviation(byDrive)).toBeCloseTo(1.5, 1);
    const worse = WORSE_RECORDERS.thermostats;
    const [first, later] = [3, 43].map(
      (ordinal) => temperatureError(worse, 'coolant_temp_c', { vehicle: 'KV-3', ordinal })!,
    );
    expect(first!(95)).toBe(later!(95));
    expect(first!(95)).not.toBe(0);
    expect(Math.abs(first!(20))).toBe(0);
    expect(first!(60)).toBeCloseTo(first!(80) / 2, 10);
    expect(temperatureError(worse, 'engine_oil_temp_c', { vehicle: 'KV-3', ordinal: 3 })).toBeNull();
  });

  it('are refused where logs are read as they were written', () => {
    const task = { seed: 1, vehicles: 2, weeks: 1, preset: 'demo', worse: 'no-air' } as const;
    expect(() => optionsOf({ ...task, path: 'logs' })).toThrow(/--worse no-air goes with --path physics/);
    expect(optionsOf({ ...task, path: 'physics' }).seed).toBe(1);
  });
});
