// Limits on any signal: tried, saved, crossed by an upload, announced once; lowest and highest until a person sets them back.
// Oil pressure and stages: common practice, no source; units by definition: 1 psi = 6.894757 kPa, 230 °F = 110 °C.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import {
  type Crossing,
  crossingsTrialSchema,
  eventListSchema,
  fleetCrossingsSchema,
  type SignalLimit,
  vehicleCrossingsSchema,
  vehicleExtremesSchema,
} from '@tallybay/contracts';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { IngestService } from '../../service/ingest-service.js';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';

const START = Date.UTC(2026, 9, 6, 14);
const KPA_PER_PSI = 6.894757;
const iso = (ms: number) => new Date(ms).toISOString();
const at = (second: number) => iso(START + second * 1000);

/** Half an hour at a row a second: oil pressure fails at 600 s and flutters about 10 psi from 900 s; coolant is hot from 1200 s. */
function drive(startMs: number): string {
  const rows = Array.from({ length: 1800 }, (_item, second) => {
    const flutter = second % 2 ? 9.5 : 11;
    const psi = second >= 600 && second < 640 ? 8 : second >= 900 && second < 960 ? flutter : 40;
    const degF = second >= 1200 && second < 1300 ? 235 : 195;
    return `${iso(startMs + second * 1000)},1500,60,${psi},${degF},${13.5 + (second % 5) / 10}`;
  });
  const header =
    'time,Engine RPM (rpm),Vehicle speed (km/h),Engine oil pressure (psi),Coolant temperature (°F),Battery voltage (V)';
  return [header, ...rows, ''].join('\n');
}

let home: string;
let service: IngestService;
let api: TestApi;
const atEnd: (() => Promise<void> | void)[] = [];
let nowMs = START + 86_400_000;

const send = async (body: string): Promise<string> => {
  const answer = await fetch(`${service.url}/v1/logs?vehicle=KV-1`, { method: 'POST', body });
  const { id } = (await answer.json()) as { id: string };
  await service.untilDone(id);
  return id;
};
const announced = async () => {
  const { events } = eventListSchema.parse(await service.get('/v1/events?limit=1000'));
  return events.filter((event) => event.kind === 'limit_exceeded');
};

beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tallybay-limits-'));
  service = await IngestService.start(home, ['KV-1', 'KV-2'], { TALLYBAY_DECODE_THREADS: '1' });
  api = await startApi(
    { TALLYBAY_HOME: home },
    () => nowMs,
    (work) => void atEnd.push(work),
  );
});
afterAll(async () => {
  for (const work of atEnd.reverse()) await work();
  await service.stop();
  rmSync(home, { recursive: true, force: true });
});

const crossingsOf = async (): Promise<Crossing[]> =>
  vehicleCrossingsSchema.parse((await api.call('GET', '/v1/vehicles/KV-1/crossings')).body).crossings;

it('an upload’s crossings are listed with their context, and announced once however often it is decoded', async () => {
  const upload = await send(drive(START));
  const found = await crossingsOf();
  expect(
    found.map(({ signal, stage, direction, start, end, seconds }) => ({
      signal,
      stage,
      direction,
      start,
      end,
      seconds,
    })),
  ).toEqual([
    { signal: 'coolant_temp_c', stage: 'caution', direction: 'high', start: at(1200), end: at(1300), seconds: 100 },
    { signal: 'engine_oil_pressure_kpa', stage: 'alarm', direction: 'low', start: at(901), end: at(960), seconds: 30 },
    { signal: 'engine_oil_pressure_kpa', stage: 'alarm', direction: 'low', start: at(600), end: at(640), seconds: 40 },
  ]);
  expect(found[2]).toMatchObject({ upload, unit: 'kPa', limit: 68.9, written: '10 psi', worstAt: at(600) });
  expect(found[2]!.worst).toBeCloseTo(8 * KPA_PER_PSI, 3);
  expect(found[2]!.context).toMatchObject({ vehicle_speed_kmh: 60, engine_speed_rpm: 1500, ambient_temp_c: null });
  const events = await announced();
  expect(events.map(({ id }) => id)).toEqual(found.map(({ id }) => id).reverse());
  expect(events[0]).toMatchObject({ uploadId: upload, vehicleId: 'KV-1', start: at(600), unit: 'kPa', seconds: 40 });

  await fetch(`${service.url}/v1/uploads/${upload}/decode-again`, { method: 'POST' });
  await service.untilStored(1);
  expect(await crossingsOf()).toEqual(found);
  expect(await announced()).toEqual(events);

  const fleet = fleetCrossingsSchema.parse((await api.call('GET', `/v1/crossings?to=${at(700)}`)).body);
  expect(fleet.crossings).toMatchObject([{ vehicle: 'KV-1', start: at(600) }]);
  const bad = await api.call('GET', `/v1/crossings?from=${at(10)}&to=${at(0)}`);
  expect(bad).toMatchObject({ status: 400, body: { code: 'parameter_invalid', field: 'from' } });
});

it('changed limits are tried on a past week, and find the same once they are saved', async () => {
  const rows = (await api.call('GET', '/v1/settings/signal-limits')).body.document as SignalLimit[];
  const battery: SignalLimit = {
    ...{ signal: 'battery_v', vehicleClass: 'service_pickup', direction: 'high', stage: 'watch', value: 13.9 },
    ...{ written: '13.9 V', hysteresis: 0.1, minSeconds: 0, during: 'running', source: 'the shop' },
  };
  const limits = [...rows, battery];
  const tried = await api.call('POST', '/v1/limits/crossings-trial', { limits, week: '2026-W41' });
  const trial = crossingsTrialSchema.parse(tried.body);
  expect(trial.vehicles.map(({ vehicle }) => vehicle)).toEqual(['KV-1']);
  const figures = new Map(trial.vehicles[0]!.signals.map(({ signal, before, after }) => [signal, { before, after }]));
  const oil = { crossings: 2, seconds: 70 };
  expect(figures.get('engine_oil_pressure_kpa')).toEqual({ before: oil, after: oil });
  // 13.9 V once in five seconds, for a second each.
  expect(figures.get('battery_v')).toEqual({
    before: { crossings: 0, seconds: 0 },
    after: { crossings: 360, seconds: 359 },
  });

  const saved = await api.call('PUT', '/v1/settings/signal-limits', limits, { 'x-tallybay-editor': 'lee' });
  expect(saved.status).toBe(200);
  const twice = await api.call('PUT', '/v1/settings/signal-limits', [...limits, battery]);
  expect(twice).toMatchObject({ status: 422, body: { code: 'body_invalid' } });
  // The decode workers read settings again after two seconds.
  await sleep(2100);
  const before = await announced();
  const upload = await send(drive(START + 7_200_000));
  const found = (await crossingsOf()).filter((crossing) => crossing.upload === upload);
  expect(found.filter(({ signal }) => signal === 'battery_v')).toHaveLength(360);
  const events = (await announced()).slice(before.length);
  expect(new Set(events.map(({ id }) => id))).toEqual(new Set(found.map(({ id }) => id)));
  expect(events).toHaveLength(found.length);
});

it('lowest and highest stand over all drives until a person sets them back, which is kept', async () => {
  const read = async () => vehicleExtremesSchema.parse((await api.call('GET', '/v1/vehicles/KV-1/extremes')).body);
  const oilOf = (extremes: Awaited<ReturnType<typeof read>>) =>
    extremes.signals.find(({ signal }) => signal === 'engine_oil_pressure_kpa')!;
  const oil = oilOf(await read());
  expect(oil).toMatchObject({ unit: 'kPa', since: null, lowest: { at: at(600) } });
  expect(oil.lowest!.value).toBeCloseTo(8 * KPA_PER_PSI, 3);
  expect(oil.highest!.value).toBeCloseTo(40 * KPA_PER_PSI, 3);
  expect(oil.lowest!.context).toMatchObject({ vehicle_speed_kmh: 60, engine_speed_rpm: 1500 });

  // In the midst of the second drive, after its oil failure: what it recorded later still counts.
  nowMs = START + 7_200_000 + 700_000;
  const reset = { by: 'kim', reason: 'oil pump replaced', signals: ['engine_oil_pressure_kpa'] };
  expect(await api.call('POST', '/v1/vehicles/KV-1/extremes/resets', reset)).toMatchObject({ status: 201 });
  const after = await read();
  expect(oilOf(after)).toMatchObject({ since: iso(nowMs), resetBy: 'kim', lowest: { at: iso(START + 8_101_000) } });
  expect(oilOf(after).lowest!.value).toBeCloseTo(9.5 * KPA_PER_PSI, 3);
  expect(after.signals.find(({ signal }) => signal === 'coolant_temp_c')).toMatchObject({ since: null });

  nowMs += 86_400_000;
  await api.call('POST', '/v1/vehicles/KV-1/extremes/resets', { by: 'lee', reason: 'new engine' });
  const empty = await read();
  expect(oilOf(empty)).toMatchObject({ lowest: null, highest: null, resetBy: 'lee' });
  expect(empty.resets.map(({ by, signals }) => [by, signals])).toEqual([
    ['lee', null],
    ['kim', ['engine_oil_pressure_kpa']],
  ]);
  const unknown = await api.call('POST', '/v1/vehicles/KV-1/extremes/resets', { ...reset, signals: ['warp_core_c'] });
  expect(unknown).toMatchObject({ status: 422, body: { code: 'body_invalid', field: 'signals.0' } });
  expect((await api.call('GET', '/v1/vehicles/none/extremes')).status).toBe(404);
});
