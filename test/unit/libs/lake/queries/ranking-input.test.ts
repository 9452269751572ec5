// Weeks: ISO 8601, in the zone of the vehicle's depot; a drive counts for the week of its start.
import type { Depot, Vehicle } from '@tallybay/contracts';
import { dataWeeks, Lake, readRankingInput } from '@tallybay/lake';
import { celsiusFromFahrenheit, computeRanking, weekWindow } from '@tallybay/risk';
import { describe, expect, it, onTestFinished } from 'vitest';
import { putRows, temporaryLake } from '../lake-builder.js';

const HOUR = 3_600_000;
const DENVER = weekWindow('2026-W41', 'America/Denver');
const BERLIN = weekWindow('2026-W41', 'Europe/Berlin');

const depots: Depot[] = [
  { id: 'north', name: 'North yard', timeZone: 'America/Denver' },
  { id: 'far', name: 'Far yard', timeZone: 'Europe/Berlin' },
];
const vehicle = (id: string, depot = 'north'): Vehicle => ({
  ...{ id, depot, vehicleClass: 'pickup', modelYear: 2018, fuel: 'gas' as const },
});

async function openLake(directory: string): Promise<Lake> {
  const lake = await Lake.open(directory, { threads: 1 });
  onTestFinished(() => lake.close());
  return lake;
}

/** One drive with coolant at `hotC` for `minutes`, the rest of it far below every stage. */
function putDrive(
  directory: string,
  drive: { vehicle: string; upload: string; startMs: number; hours: number; hotC?: number; minutes?: number },
): void {
  const key = { vehicle: drive.vehicle, upload: drive.upload };
  const id = { drive_id: `${drive.upload}-d1`, segment: 1, started_at: drive.startMs };
  const seconds = drive.hours * 3600;
  const hot = (drive.minutes ?? 0) * 60;
  const hotC = drive.hotC ?? 90;
  const low = Math.floor(hotC * 2) / 2;
  putRows(directory, 'drives', key, [
    {
      ...id,
      ended_at: drive.startMs + drive.hours * HOUR,
      seconds,
      distance_km: 40,
      distance_source: 'speed',
      rows: 1,
    },
  ]);
  putRows(directory, 'dwell', key, [
    {
      ...id,
      signal: 'coolant_temp_c',
      low: 88,
      high: 88.5,
      seconds: seconds - hot,
      value_seconds: 88.2 * (seconds - hot),
      min: 88,
      max: 88.4,
    },
    {
      ...id,
      signal: 'coolant_temp_c',
      low,
      high: low + 0.5,
      seconds: hot,
      value_seconds: hotC * hot,
      min: hotC,
      max: hotC,
    },
    {
      ...id,
      drive_id: null,
      signal: 'coolant_temp_c',
      low: 120,
      high: 120.5,
      seconds: 900,
      value_seconds: 900 * 120,
      min: 120,
      max: 120,
    },
  ]);
  putRows(directory, 'signal_stats', key, [
    {
      ...id,
      ...{ signal: 'coolant_temp_c', channel: 'ECT', source_unit: 'degC', valid: 36_000, blank: 0, min: 20, max: hotC },
      ...{ first: 20, last: 90, mean: 85, seconds, out_of_range: 0, unreadable: 0, jump: 0, stuck_seconds: 0 },
    },
  ]);
}

function putSnapshot(
  directory: string,
  at: { vehicle: string; upload: string; timeMs: number },
  codes: string[],
): void {
  const read = { read_pending: true, read_confirmed: true, read_permanent: true, read_monitors: true };
  putRows(directory, 'snapshots', at, [
    { time: at.timeMs, lamp_on: false, ignition: 'spark', ...read, warm_ups_since_clear: 40 },
  ]);
  if (codes.length > 0)
    putRows(
      directory,
      'codes',
      at,
      codes.map((code) => ({ time: at.timeMs, code, status: 'confirmed', module: 'engine' })),
    );
  putRows(directory, 'monitors', at, [
    { time: at.timeMs, monitor: 'catalyst', supported: true, complete: true },
    { time: at.timeMs, monitor: 'evap', supported: false, complete: null },
  ]);
}

describe('the ranking input', () => {
  it('is read from the lake and ranks: heat, codes, readiness', async () => {
    const directory = temporaryLake();
    putDrive(directory, {
      vehicle: 'KV-1',
      upload: 'u1',
      startMs: DENVER.fromMs + HOUR,
      hours: 4,
      hotC: 118,
      minutes: 20,
    });
    putDrive(directory, { vehicle: 'KV-2', upload: 'u2', startMs: DENVER.fromMs + HOUR, hours: 4 });
    putSnapshot(directory, { vehicle: 'KV-1', upload: 's1', timeMs: DENVER.fromMs + 30 * HOUR }, ['P0217']);
    putSnapshot(directory, { vehicle: 'KV-2', upload: 's2', timeMs: DENVER.fromMs + 30 * HOUR }, []);
    const lake = await openLake(directory);
    const fleet = { vehicles: [vehicle('KV-1'), vehicle('KV-2'), vehicle('KV-3')], depots };
    const input = await readRankingInput(lake, fleet, '2026-W41', {
      asOfMs: BERLIN.toMs * 2,
    });
    expect(input).toMatchObject({ timeZone: 'America/Denver', provisional: false });
    expect(input.vehicles[0]!.dwell).toEqual([
      {
        driveId: 'u1-d1',
        signal: 'coolant_temp_c',
        low: 118,
        high: 118.5,
        seconds: 1200,
        valueSeconds: 141_600,
        min: 118,
        max: 118,
      },
    ]);
    expect(input.vehicles[1]!.snapshots[0]).toMatchObject({
      counters: { warmUpsSinceClear: 40, minutesSinceClear: null },
      monitors: [
        { id: 'catalyst', supported: true, complete: true },
        { id: 'evap', supported: false, complete: false },
      ],
    });
    const ranking = computeRanking(input);
    expect(ranking.ranked.map((row) => row.vehicle)).toEqual(['KV-1', 'KV-2']);
    expect(ranking.ranked[0]).toMatchObject({
      codes: { score: 1 },
      readiness: { score: 0, state: 'ok' },
      inputs: {
        heat: {
          signals: {
            coolant_temp_c: {
              stages: expect.arrayContaining([
                expect.objectContaining({
                  stage: 'alarm',
                  seconds: 1200,
                  exact: true,
                  degreeMinutes: Math.round(20 * (118 - celsiusFromFahrenheit(240)) * 1000) / 1000,
                }),
              ]),
            },
          },
        },
      },
    });
    expect(ranking.unranked.map((row) => [row.vehicle, row.causes[0]!.code])).toEqual([['KV-3', 'no_upload']]);
  });

  it('cuts the week in each depot’s own zone, by the start of the drive', async () => {
    const directory = temporaryLake();
    // Monday 00:30 in Berlin is still Sunday in Denver.
    const early = BERLIN.fromMs + HOUR / 2;
    putDrive(directory, { vehicle: 'KV-1', upload: 'u1', startMs: early, hours: 1 });
    putDrive(directory, { vehicle: 'FA-1', upload: 'u2', startMs: early, hours: 1 });
    putDrive(directory, { vehicle: 'KV-2', upload: 'u3', startMs: DENVER.toMs - HOUR / 2, hours: 2 });
    putDrive(directory, { vehicle: 'KV-4', upload: 'u4', startMs: DENVER.toMs, hours: 2 });
    const lake = await openLake(directory);
    const fleet = { vehicles: [vehicle('KV-1'), vehicle('FA-1', 'far'), vehicle('KV-2'), vehicle('KV-4')], depots };
    const options = { asOfMs: DENVER.toMs - 1 };
    const { vehicles, provisional } = await readRankingInput(lake, fleet, '2026-W41', options);
    expect(provisional).toBe(true);
    expect(vehicles.map((facts) => facts.drives.length)).toEqual([0, 1, 1, 0]);
    expect(vehicles[0]!.earlierDrives).toEqual([
      {
        ...{ driveId: 'u1-d1', startedMs: early, endedMs: early + HOUR, seconds: 3600 },
        // A minute of an hour spread evenly between 88 and 88.4.
        signals: { coolant_temp_c: { first: 20, mean: 85, max: 90, held: expect.closeTo(88.4 - 0.4 / 60, 9) } },
      },
    ]);
    expect(await dataWeeks(lake, fleet)).toEqual(['2026-W40', '2026-W41', '2026-W42']);
    expect(await dataWeeks(lake, { ...fleet, vehicles: [vehicle('FA-1', 'far')] })).toEqual(['2026-W41']);
  });

  it('works on an empty lake', async () => {
    const lake = await openLake(temporaryLake());
    const fleet = { vehicles: [vehicle('KV-1')], depots };
    const input = await readRankingInput(lake, fleet, '2026-W41', { asOfMs: 0 });
    expect(input.vehicles[0]).toMatchObject({ drives: [], dwell: [], signals: [], snapshots: [], lastSeenMs: null });
    expect(await dataWeeks(lake, fleet)).toEqual([]);
  });
});
