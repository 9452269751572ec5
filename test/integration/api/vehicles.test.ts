import { driveListSchema, vehicleCodesSchema, vehicleHeatSchema, vehicleReadinessSchema } from '@tallybay/contracts';
import { weekWindow } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { startApi } from '../../unit/apps/api/test-api.js';
import { putRows } from '../../unit/libs/lake/lake-builder.js';

const ZONE = 'America/Denver';
const { fromMs } = weekWindow('2026-W41', ZONE);
const DAY_MS = 86_400_000;

async function withHistory() {
  const api = await startApi({}, () => fromMs + 3 * DAY_MS);
  await api.call('POST', '/v1/fleet', {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: ZONE }],
    vehicles: ['KV/1 ü', 'KV-2'].map((id) => ({
      id,
      vehicleClass: 'pickup',
      depot: 'north',
      modelYear: 2015,
      fuel: 'gas',
    })),
  });
  const lake = api.runtime.config.lakeDirectory;
  for (const [vehicle, upload] of [
    ['KV/1 ü', 'u1'],
    ['KV-2', 'u2'],
  ] as const) {
    const common = { drive_id: `${upload}-1`, segment: 1, started_at: fromMs + DAY_MS };
    putRows(lake, 'drives', { vehicle, upload }, [
      {
        ...common,
        ended_at: fromMs + DAY_MS + 7_200_000,
        seconds: 7200,
        distance_km: 80,
        distance_source: 'speed',
        rows: 72_000,
      },
    ]);
    // 300 s between 121.0 and 121.4 °C, the rest at 90: 121 °C is at or above 240 °F (115.56 °C) and 220, 230; below 250.
    putRows(lake, 'dwell', { vehicle, upload }, [
      {
        ...common,
        signal: 'coolant_temp_c',
        low: 90,
        high: 90.5,
        seconds: 6900,
        value_seconds: 6900 * 90,
        min: 90,
        max: 90,
      },
      {
        ...common,
        signal: 'coolant_temp_c',
        low: 121,
        high: 121.5,
        seconds: 300,
        value_seconds: 300 * 121,
        min: 121,
        max: 121,
      },
    ]);
    putRows(lake, 'signal_stats', { vehicle, upload }, [
      {
        ...common,
        signal: 'coolant_temp_c',
        channel: 'T',
        valid: 7200,
        seconds: 7200,
        min: 90,
        max: 121,
        first: 90,
        last: 90,
        mean: 91,
        out_of_range: 0,
        unreadable: 0,
        jump: 0,
        stuck_seconds: 0,
      },
    ]);
  }
  return { ...api, lake, path: `/v1/vehicles/${encodeURIComponent('KV/1 ü')}` };
}

const read = { read_pending: true, read_confirmed: true, read_permanent: true, read_monitors: true };

describe('one vehicle over HTTP', () => {
  it('has its drives, newest first, of the span asked for', async () => {
    const { call, path } = await withHistory();
    const all = driveListSchema.parse((await call('GET', `${path}/drives`)).body);
    expect(all.drives).toMatchObject([
      { id: 'u1-1', upload: 'u1', seconds: 7200, distanceKm: 80, rows: 72_000, fuelL: null },
    ]);
    const after = new Date(fromMs + 2 * DAY_MS).toISOString();
    expect((await call('GET', `${path}/drives?from=${after}`)).body.drives).toEqual([]);
    const bad = await call('GET', `${path}/drives?from=yesterday`);
    expect(bad).toMatchObject({ status: 400, body: { code: 'parameter_invalid', field: 'from' } });
    const slip = await call('GET', `${path}/drives?since=${after}`);
    expect(slip).toMatchObject({ status: 400, body: { code: 'parameter_invalid', field: 'since' } });
    expect(slip.body.detail).toContain('there are: from');
    expect(await call('GET', '/v1/rankings/latest?top=3')).toMatchObject({ status: 400, body: { field: 'top' } });
  });

  it('has heat by week in the depot’s zone, stage by stage', async () => {
    const { call, path } = await withHistory();
    const heat = vehicleHeatSchema.parse((await call('GET', `${path}/heat?weeks=2`)).body);
    expect(heat.timeZone).toBe(ZONE);
    expect(heat.weeks.map((week) => [week.week, week.drives, week.engineHours])).toEqual([
      ['2026-W40', 0, 0],
      ['2026-W41', 1, 2],
    ]);
    const coolant = heat.weeks[1]!.signals.find((signal) => signal.signal === 'coolant_temp_c')!;
    expect(coolant.state).toBe('ok');
    expect(coolant.stages.map(({ written, seconds }) => [written, seconds])).toEqual([
      ['220 °F', 300],
      ['230 °F', 300],
      ['240 °F', 300],
      ['250 °F', 0],
    ]);
    const over240 = coolant.stages[2]!;
    expect(over240.degreeMinutes).toBeCloseTo((300 / 60) * (121 - ((240 - 32) * 5) / 9), 6);
    expect(heat.weeks[0]!.signals.every((signal) => signal.state === 'no_data')).toBe(true);
  });

  it('has its codes with the clear and the return between', async () => {
    const { call, path, lake } = await withHistory();
    const snapshots = [1, 2, 3].map((day) => ({
      time: fromMs - (40 - day * 10) * DAY_MS,
      code_count: day === 2 ? 0 : 1,
      warm_ups_since_clear: [30, 2, 12][day - 1],
      ...read,
    }));
    putRows(lake, 'snapshots', { vehicle: 'KV/1 ü', upload: 's1' }, snapshots);
    putRows(
      lake,
      'codes',
      { vehicle: 'KV/1 ü', upload: 's1' },
      [snapshots[0]!, snapshots[2]!].map(({ time }) => ({
        time,
        code: 'P0217',
        status: 'confirmed',
        module: 'engine',
      })),
    );
    const codes = vehicleCodesSchema.parse((await call('GET', `${path}/codes`)).body);
    const at = snapshots.map(({ time }) => new Date(time).toISOString());
    expect(codes).toMatchObject({ snapshots: 3, firstSnapshot: at[0], newestSnapshot: at[2], patterns: [] });
    expect(codes.codes).toMatchObject([
      {
        ...{ code: 'P0217', status: 'confirmed', module: 'engine', lastRead: at[2] },
        spans: [
          { start: at[0], last: at[0], end: at[1], state: 'active', endedBy: 'cleared' },
          { start: at[2], last: at[2], end: null, state: 'active', endedBy: null },
        ],
        returns: [{ at: at[2], after: 'cleared', days: 20, warmUps: 12, km: null }],
        returnsIn: { d30: 1, d90: 1, d365: 1 },
      },
    ]);
    expect(codes.clears).toMatchObject([
      { at: at[1], since: at[0], by: 'counter', codes: ['P0217'], cameBack: ['P0217'] },
    ]);
  });

  it('has a verdict for each programme; without snapshots that is "not enough data"', async () => {
    const { call, path, lake } = await withHistory();
    const empty = vehicleReadinessSchema.parse((await call('GET', `${path}/readiness`)).body);
    expect(empty.newestSnapshot).toBeNull();
    expect(empty.verdicts.length).toBeGreaterThan(1);
    for (const { verdict } of empty.verdicts) expect(['not_enough_data', 'not_subject']).toContain(verdict);
    const time = fromMs + DAY_MS;
    putRows(lake, 'snapshots', { vehicle: 'KV/1 ü', upload: 's1' }, [
      { time, lamp_on: false, code_count: 0, ignition: 'spark', ...read },
    ]);
    putRows(
      lake,
      'monitors',
      { vehicle: 'KV/1 ü', upload: 's1' },
      ['catalyst', 'evap', 'o2_sensor'].map((monitor) => ({
        time,
        monitor,
        supported: true,
        complete: monitor === 'o2_sensor',
      })),
    );
    const known = vehicleReadinessSchema.parse((await call('GET', `${path}/readiness`)).body);
    // Two incomplete monitors on a vehicle of 2015: more than the one that the federal guideline allows from 2001.
    const federal = known.verdicts.find((one) => one.programme.includes('federal'))!;
    expect(federal).toMatchObject({ verdict: 'would_be_refused', incomplete: ['catalyst', 'evap'] });
    expect(known.caution).toMatch(/local inspection programme decides/);
  });
});
