import { CONTEXT_SIGNALS, type ContextSignal, ContextTracker, loadExcessPct } from '@tallybay/risk';
import { expect, it } from 'vitest';

const START = Date.UTC(2026, 9, 6, 14);

/** A row a second for so many seconds. */
function after(seconds: number, at: (second: number) => Partial<Record<ContextSignal, number>>) {
  const tracker = new ContextTracker();
  const rows = Array.from({ length: seconds + 1 }, (_item, second) => at(second));
  const columns = CONTEXT_SIGNALS.map((signal) => rows.map((row) => row[signal] ?? null));
  rows.forEach((_row, second) => {
    tracker.row(START + second * 1000, columns, second);
  });
  return tracker.context();
}

it('tells what was recorded beside, no older than a value holds', () => {
  const context = after(60, (second) => ({
    engine_load_pct: 40,
    ...(second === 50 ? { engine_speed_rpm: 2000, ambient_temp_c: 31 } : {}),
  }));
  expect(context).toMatchObject({
    engine_load_pct: 40,
    ambient_temp_c: 31,
    engine_speed_rpm: null,
    vehicle_speed_kmh: null,
  });
});

it('tells the mean load of the two minutes before', () => {
  expect(after(300, (second) => ({ engine_load_pct: second < 240 ? 20 : 80 })).load_2min_pct).toBeCloseTo(50, 0);
  expect(after(10, () => ({ engine_load_pct: 20 })).load_2min_pct).toBeNull();
});

it('tells the grade: recorded, else climb over distance by altitude', () => {
  const climbing = (second: number) => ({ vehicle_speed_kmh: 72, altitude_m: 1500 + second * 20 * 0.05 });
  expect(after(120, climbing).grade_pct).toBeCloseTo(5, 6);
  expect(after(120, (second) => ({ ...climbing(second), grade_pct: 6.5 })).grade_pct).toBe(6.5);
  expect(after(5, climbing).grade_pct).toBeNull();
  expect(after(120, (second) => ({ vehicle_speed_kmh: 0, altitude_m: second })).grade_pct).toBeNull();
});

it('tells the grade by air pressure as the U.S. Standard Atmosphere, 1976, has it', () => {
  // Table values of pressure: 1000 m 89.875 kPa, 1200 m 87.716 kPa (from memory of the table).
  const kpa = (m: number) => 101.325 * (1 - 2.25577e-5 * m) ** 5.25588;
  expect(kpa(1000)).toBeCloseTo(89.875, 1);
  const context = after(300, (second) => ({
    vehicle_speed_kmh: 72,
    barometric_pressure_kpa: kpa(1000 + second * 20 * 0.04),
  }));
  expect(Math.abs(context.grade_pct! - 4)).toBeLessThan(0.5);
});

it('load above the vehicle’s other drives at a like speed stands for what it tows; few drives tell nothing', () => {
  const drive = (driveId: string, loadPct: number, speedKmh = 80) => ({ driveId, loadPct, speedKmh });
  const others = [drive('a', 40), drive('b', 44), drive('c', 42), drive('city', 90, 20), drive('x', 70)];
  expect(loadExcessPct(drive('x', 70), others)).toBe(28);
  expect(loadExcessPct(drive('x', 70), others.slice(0, 2))).toBeNull();
});
