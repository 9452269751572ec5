// What went on beside a peak is read from the samples around it, and said in the reason for the rank.
import type { Depot, Vehicle } from '@tallybay/contracts';
import { Lake, peakContexts, readRankingInput, withHeatPeaks } from '@tallybay/lake';
import { computeRanking, DEFAULT_RULES, weekWindow } from '@tallybay/risk';
import { expect, it, onTestFinished } from 'vitest';
import { temporaryLake } from '../lake-builder.js';
import { storeLog } from '../store-log.js';

const ZONE = 'America/Denver';
const { fromMs, toMs } = weekWindow('2026-W41', ZONE);
const depots: Depot[] = [{ id: 'north', name: 'North yard', timeZone: ZONE }];
const vehicle: Vehicle = { id: 'KV-1', vehicleClass: 'pickup', depot: 'north' };
const START = fromMs + 30 * 3_600_000;

/** Forty minutes at a row a second, up a grade of 6 % at 54 km/h from half of it on, where the coolant climbs to 119 °C and back. */
function climb(startMs: number, load: number, hot: boolean): string {
  const header =
    'time,Engine RPM (rpm),Vehicle speed (km/h),Engine load (%),Altitude (m),Ambient temperature (°C),Coolant temperature (°C)';
  const rows = Array.from({ length: 2400 }, (_item, second) => {
    const up = Math.max(0, second - 1200);
    const coolant = hot && up > 0 ? 92 + 27 * Math.sin((Math.PI * up) / 1200) : 92;
    const cells = [1800, 54, up > 0 ? load + 20 : load, 1500 + up * 15 * 0.06, 34, coolant.toFixed(2)];
    return `${new Date(startMs + second * 1000).toISOString()},${cells.join(',')}`;
  });
  return [header, ...rows, ''].join('\n');
}

it('a hot climb is told with speed, load, grade, air and what the drive had to pull', async () => {
  const directory = temporaryLake();
  const store = (upload: string, startMs: number, load: number, hot = false) =>
    storeLog(directory, { vehicle: 'KV-1', upload, text: climb(startMs, load, hot) });
  for (const day of [1, 2, 3, 4]) await store(`usual-${day}`, START - day * 86_400_000 * 2, 30);
  await store('towing', START, 60, true);
  const lake = await Lake.open(directory, { threads: 1 });
  onTestFinished(() => lake.close());
  const read = await readRankingInput(lake, { vehicles: [vehicle], depots }, '2026-W41', { asOfMs: toMs });
  const input = await withHeatPeaks(lake, read, DEFAULT_RULES);
  const [peak] = input.vehicles[0]!.peaks!;
  expect(peak).toMatchObject({
    signal: 'coolant_temp_c',
    driveId: 'towing-d1',
    uploadId: 'towing',
  });
  // The top is flat to a hundredth of a degree for some seconds.
  expect(Math.abs(peak!.atMs - START - 1_800_000)).toBeLessThan(15_000);
  expect(peak!.valueC).toBeCloseTo(119, 1);
  expect(peak!.context).toMatchObject({ vehicle_speed_kmh: 54, engine_load_pct: 80, ambient_temp_c: 34 });
  expect(peak!.context.grade_pct).toBeCloseTo(6, 1);
  expect(peak!.context.load_2min_pct).toBeCloseTo(80, 3);
  expect(peak!.context.load_excess_pct).toBeCloseTo(30, 1);

  const row = computeRanking(input).ranked[0]!;
  expect(row.reasons[0]!.text).toContain(
    "peak 119.0 °C (54 km/h, load 80 %, 80 % over the two minutes before, uphill 6 %, ambient 34 °C, the drive's mean load 30 points above",
  );
  expect(row.reasons[0]!.evidence[0]).toMatchObject({ kind: 'drive', id: 'towing-d1' });
  expect(Date.parse(row.reasons[0]!.evidence[0]!.at!)).toBe(peak!.atMs);
  const heat = row.inputs.heat as { signals: Record<string, { peak?: unknown; stages: Record<string, number>[] }> };
  expect(heat.signals.coolant_temp_c!.peak).toMatchObject({ drive: 'towing-d1', context: { vehicle_speed_kmh: 54 } });
  const [watch] = heat.signals.coolant_temp_c!.stages;
  expect(watch!.minutesPerEngineHour).toBeCloseTo(watch!.seconds! / 60 / (2399 / 3600), 2);
  expect(watch!.minutesPer100Km).toBeCloseTo((watch!.seconds! / 60 / 36) * 100, 1);
  expect(watch!.degreeMinutesPerEngineHour).toBeGreaterThan(0);
});

it('an instant that no row is near to has no context', async () => {
  const directory = temporaryLake();
  await storeLog(directory, { vehicle: 'KV-1', upload: 'u', text: climb(START, 30, false) });
  const lake = await Lake.open(directory, { threads: 1 });
  onTestFinished(() => lake.close());
  const late = START + 3_600_000 * 5;
  const found = await peakContexts(lake, { vehicleId: 'KV-1', uploadId: 'u' }, [late, START]);
  expect(found.has(late)).toBe(false);
  expect(found.get(START)).toMatchObject({ vehicle_speed_kmh: 54, grade_pct: null });
});
