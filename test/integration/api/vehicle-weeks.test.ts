import {
  type VehicleWeeks,
  vehicleQualitySchema,
  vehicleResidualsSchema,
  vehicleWeeksSchema,
} from '@tallybay/contracts';
import { Lake, readRankingInput } from '@tallybay/lake';
import { celsiusFromFahrenheit, DEFAULT_RULES, earlyWarnings, vehicleFeatures, weekWindow } from '@tallybay/risk';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';
import { putRows } from '../../unit/libs/lake/lake-builder.js';

const ZONE = 'America/Denver';
const DAY_MS = 86_400_000;
const start = (week: string) => weekWindow(week, ZONE).fromMs;
const FIRST_MS = start('2026-W39');
const VEHICLES = ['KV-1', 'KV-2', 'KV-3', 'KV-4'];

interface Drive {
  vehicle: string;
  upload: string;
  startedMs: number;
  maxC: number;
  /** Time at the highest temperature; the rest of the hour is spent at 88 °C. */
  hotSeconds: number;
}

function putDrive(lake: string, { vehicle, upload, startedMs, maxC, hotSeconds }: Drive): void {
  const key = { vehicle, upload };
  const drive = { drive_id: `${upload}-d1`, segment: 1, started_at: startedMs };
  const low = Math.floor(maxC);
  const bin = (value: number, low: number, seconds: number) => ({
    ...{ ...drive, signal: 'coolant_temp_c', low, high: low + 0.5, seconds, value_seconds: seconds * value },
    ...{ min: value, max: value },
  });
  putRows(lake, 'drives', key, [
    { ...drive, ended_at: startedMs + 3_600_000, seconds: 3600, distance_km: 40, rows: 3600 },
  ]);
  putRows(lake, 'dwell', key, [bin(88, 88, 3600 - hotSeconds), bin(maxC, low, hotSeconds)]);
  const counted = {
    valid: 3600,
    blank: 0,
    out_of_range: 0,
    unreadable: 0,
    jump: 0,
    stuck_seconds: 0,
    confidence: 0.95,
  };
  const figures = { ...drive, ...counted, seconds: 3600, channel: 'ECT' };
  const max = { max: maxC, max_at: startedMs + 600_000, min: 20, min_at: startedMs };
  putRows(lake, 'signal_stats', key, [
    { ...figures, ...max, signal: 'coolant_temp_c', first: 20, last: 88, mean: 88 },
    {
      ...figures,
      signal: 'engine_load_pct',
      channel: 'LOAD',
      out_of_range: 7,
      first: 40,
      last: 40,
      mean: 40,
      max: 60,
      min: 0,
    },
  ]);
  putRows(lake, 'uploads', key, [
    {
      ...{ kind: 'log', first_at: startedMs, last_at: startedMs + 3_600_000, rows: 3610, rows_kept: 3600, gaps: 2 },
      ...{ longest_gap_seconds: startedMs % 1000, backward_steps: 1, duplicate_times: 3 },
    },
  ]);
}

/** Four vehicles, a drive every second day for three weeks; the coolant of KV-4 rises by 12 K in the last week. */
async function withClass(): Promise<TestApi & { lake: string }> {
  const api = await startApi(
    {},
    () => start('2026-W45'),
    (work) => atEnd.push(work),
  );
  const body = {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: ZONE }],
    vehicles: VEHICLES.map((id) => ({ id, vehicleClass: 'pickup', depot: 'north', modelYear: 2015, fuel: 'gas' })),
  };
  await api.call('POST', '/v1/fleet', body);
  const lake = api.runtime.config.lakeDirectory;
  for (const [number, vehicle] of VEHICLES.entries())
    for (let day = 0; day < 21; day += 2) {
      const rise = vehicle === 'KV-4' && day >= 14 ? 12 : 0;
      const maxC = 94 + number * 0.3 + (day % 3) * 0.2 + rise;
      const startedMs = FIRST_MS + day * DAY_MS + 8 * 3_600_000 + day;
      putDrive(lake, { vehicle, upload: `${vehicle}-${day}`, startedMs, maxC, hotSeconds: 600 });
    }
  return { ...api, lake };
}

const atEnd: (() => Promise<void> | void)[] = [];
let api: TestApi & { lake: string };
beforeAll(async () => {
  api = await withClass();
});
afterAll(async () => {
  for (const work of atEnd.reverse()) await work();
});

describe('one vehicle week by week', () => {
  it('has its newest weeks of data by default, with bins that add up to the time of each week', async () => {
    const { call } = api;
    const found = vehicleWeeksSchema.parse((await call('GET', '/v1/vehicles/KV-4/weeks?weeks=4')).body);
    expect(found.weeks.map(({ week, drives, engineHours }) => [week, drives, engineHours])).toEqual([
      ['2026-W38', 0, 0],
      ['2026-W39', 4, 4],
      ['2026-W40', 3, 3],
      ['2026-W41', 4, 4],
    ]);
    expect(found.newestData).toBe(new Date(FIRST_MS + 20 * DAY_MS + 8 * 3_600_000 + 20).toISOString());
    const coolant = found.signals.find(({ signal }) => signal === 'coolant_temp_c')!;
    expect(coolant.weeks[0]).toMatchObject({ seconds: 0, mean: null, max: null });
    for (const [index, week] of found.weeks.entries()) {
      const inBins = coolant.bins.reduce((all, { seconds }) => all + seconds[index]!, 0);
      expect(inBins).toBeCloseTo(week.engineHours * 3600, 6);
      expect(coolant.weeks[index]!.seconds).toBeCloseTo(inBins, 6);
    }
    expect(coolant.weeks[3]!.max).toBeCloseTo(107.3, 5);
    expect(coolant.weeks[3]!.mean).toBeCloseTo((88 * 3000 + 107.1 * 600) / 3600, 0);
  });

  it('counts time at or above each stage as the heat report does', async () => {
    const { call } = api;
    const weeks = (await call('GET', '/v1/vehicles/KV-4/weeks?weeks=2&until=2026-W41')).body as VehicleWeeks;
    const { body: heat } = await call('GET', '/v1/vehicles/KV-4/heat?weeks=2&until=2026-W41');
    const coolant = weeks.signals.find(({ signal }) => signal === 'coolant_temp_c')!;
    // 220 °F is 104.4 °C: all four hot stretches of the last week lie above it, none above 230 °F.
    expect(coolant.stages[0]!.value).toBeCloseTo(celsiusFromFahrenheit(220), 9);
    expect(coolant.weeks[1]!.atOrAbove).toEqual([2400, 0, 0, 0]);
    for (const index of [0, 1]) {
      const reported = heat.weeks[index].signals.find((row: { signal: string }) => row.signal === 'coolant_temp_c');
      expect(coolant.weeks[index]!.atOrAbove).toEqual(reported.stages.map((row: { seconds: number }) => row.seconds));
    }
  });

  it('knows nothing of a vehicle that never sent anything, and of one that is not registered', async () => {
    const { call } = api;
    await call('PUT', '/v1/vehicles/KV-9', { id: 'KV-9', vehicleClass: 'van', depot: 'north' });
    const found = vehicleWeeksSchema.parse((await call('GET', '/v1/vehicles/KV-9/weeks')).body);
    expect(found).toMatchObject({ newestData: null, signals: [] });
    expect((await call('GET', '/v1/vehicles/none/weeks')).body).toMatchObject({ code: 'vehicle_not_found' });
    expect((await call('GET', '/v1/vehicles/KV-1/weeks?until=2026-W60')).body).toMatchObject({ code: 'week_invalid' });
  });
});

describe('the early warning of one vehicle', () => {
  it('rests on residuals that say the same as the ranking’s warnings, with the drives to look at', async () => {
    const { call, lake: directory } = api;
    const found = vehicleResidualsSchema.parse((await call('GET', '/v1/vehicles/KV-4/residuals')).body);
    expect(found).toMatchObject({ vehicleClass: 'pickup', compared: 4, week: '2026-W41' });
    const coolant = found.signals.find(({ signal }) => signal === 'coolant_temp_c')!;
    expect(coolant).toMatchObject({ state: 'ok', warns: true });
    expect(coolant.drives).toHaveLength(11);
    expect(coolant.drives.at(-1)!).toMatchObject({ upload: 'KV-4-20' });
    const lake = await Lake.open(directory, { threads: 1 });
    const vehicles = VEHICLES.map((id) => ({ id, vehicleClass: 'pickup', depot: 'north', fuel: 'gas' as const }));
    const depots = [{ id: 'north', name: '', timeZone: ZONE }];
    const input = await readRankingInput(lake, { vehicles, depots }, '2026-W41', { asOfMs: Date.now(), history: [] });
    lake.close();
    const features = input.vehicles.map((facts) => vehicleFeatures(facts, [], DEFAULT_RULES));
    const warnings = earlyWarnings(features, input.vehicles[0]!.toMs, DEFAULT_RULES.warning);
    expect(warnings.get('KV-4')).toMatchObject([{ excessK: coolant.excessK, thresholdK: coolant.thresholdK }]);
    const healthy = (await call('GET', '/v1/vehicles/KV-1/residuals')).body;
    expect(healthy.signals[0]).toMatchObject({ signal: 'coolant_temp_c', state: 'ok', warns: false });
    expect(healthy.signals[1]).toMatchObject({ state: 'few_class_drives', excessK: null });
  });
});

describe('the data quality of one vehicle', () => {
  it('adds up what was lacking, names temperatures that were never recorded and uploads that failed', async () => {
    const { call, runtime } = api;
    await runtime.registry.uploads.insertIfAbsent({
      ...{ id: 'broken', kind: 'log', state: 'failed', bytes: 1, sha256: 'b', receivedAt: '2026-10-08T08:00:00.000Z' },
      ...{ vehicle: 'KV-4', fileName: 'broken.csv' },
    });
    const found = vehicleQualitySchema.parse((await call('GET', '/v1/vehicles/KV-4/quality?weeks=3')).body);
    expect(found.recordings).toMatchObject({ count: 11, rows: 39_710, rowsKept: 39_600, gaps: 22, duplicateTimes: 33 });
    expect(found.recordings).toMatchObject({ longestGapSeconds: 20, longestGapUpload: 'KV-4-20', backwardSteps: 11 });
    expect(found.signals).toMatchObject([{ signal: 'engine_load_pct', outOfRange: 77, channels: ['LOAD'] }]);
    expect(found.signalsFine).toBe(1);
    expect(found.failed).toMatchObject([{ upload: 'broken', fileName: 'broken.csv' }]);
    expect(found.notRecorded.map(({ signal }) => signal)).toContain('engine_oil_temp_c');
    expect(found.findings).toEqual([]);
  });

  it('names a sensor that is not believed, with its weeks', async () => {
    const { call, lake } = api;
    const hot = { vehicle: 'KV-1', upload: 'odd', maxC: 190, hotSeconds: 3000 };
    putDrive(lake, { ...hot, startedMs: start('2026-W41') + 5 * DAY_MS });
    const { findings } = vehicleQualitySchema.parse((await call('GET', '/v1/vehicles/KV-1/quality?weeks=3')).body);
    expect(findings).toMatchObject([{ signal: 'coolant_temp_c', weeks: ['2026-W41'] }]);
  });
});
