import { readFileSync } from 'node:fs';
import {
  asideId,
  recordingListSchema,
  recordingSchema,
  type Trace,
  traceSchema,
  vehicleEvidenceSchema,
} from '@tallybay/contracts';
import fc from 'fast-check';
import { expect, it } from 'vitest';
import { startApi } from '../../unit/apps/api/test-api.js';
import { putRows } from '../../unit/libs/lake/lake-builder.js';
import { storeLog } from '../../unit/libs/lake/store-log.js';

const START = Date.UTC(2026, 9, 6, 14);
const ROWS = 30_000;
const GAP = { from: 12_000, to: 13_000 };
const SPIKE_ROW = 7_001;
/** A channel that the catalogue does not know, with everything in its name that separates something in a link. */
const PUMP = 'Pump, stage ~2 & 50% [V]';
const iso = (ms: number) => new Date(ms).toISOString();
const timeOf = (row: number) => START + row * 100;

/** 50 minutes at 10 Hz with a gap of 100 s, hot from row 20,000 to 21,000, and one sample of load that stands alone, as does one of PUMP. */
async function withRecording() {
  const api = await startApi({}, () => START + 3_600_000);
  await api.call('POST', '/v1/fleet', {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
    vehicles: [{ id: 'KV-7', vehicleClass: 'pickup', depot: 'north', fuel: 'diesel' }],
  });
  const lake = api.runtime.config.lakeDirectory;
  const key = { vehicle: 'KV-7', upload: 'u7' };
  const samples = [];
  for (let row = 0; row < ROWS; row++) {
    if (row >= GAP.from && row < GAP.to) continue;
    const coolant = row % 10 ? null : row >= 20_000 && row < 21_000 ? 118 : 88;
    const sample = { row_no: row + 1, time: timeOf(row), coolant_temp_c: coolant, vehicle_speed_kmh: 30 };
    samples.push({ ...sample, engine_load_pct: row === SPIKE_ROW ? 99 : 20 });
  }
  putRows(lake, 'samples', key, samples);
  const drive = { drive_id: 'u7-d1', segment: 1, started_at: START };
  const ended = { ended_at: timeOf(ROWS - 1), seconds: 2900, rows: samples.length };
  putRows(lake, 'drives', key, [{ ...drive, ...ended }]);
  const bin = { ...drive, signal: 'coolant_temp_c', low: 118, high: 118.5, seconds: 100, value_seconds: 11_800 };
  putRows(lake, 'dwell', key, [{ ...bin, min: 118, max: 118 }]);
  const figures = { ...drive, channel: 'ECT', valid: 2900, blank: 0, out_of_range: 1, unreadable: 0, jump: 0 };
  putRows(lake, 'signal_stats', key, [
    {
      ...figures,
      signal: 'coolant_temp_c',
      min: 88,
      min_at: START,
      max: 118,
      max_at: timeOf(20_000),
      stuck_seconds: 0,
    },
  ]);
  const cell = (row: number, channel: string, text: string | null) => ({
    ...{ row_no: row + 1, time: timeOf(row), channel, text },
  });
  putRows(lake, 'unmapped', key, [
    ...[cell(0, PUMP, '2.5'), cell(SPIKE_ROW, PUMP, '9.75'), cell(SPIKE_ROW + 1, PUMP, '2.5')],
    ...[cell(20_000, PUMP, 'n/a'), cell(20_010, PUMP, null), cell(20_020, PUMP, '-1e-1')],
    ...[cell(0, 'Mode', 'eco'), cell(9_000, 'Mode', 'tow'), cell(9_500, 'Mode', '1')],
  ]);
  putRows(lake, 'markers', key, [{ row_no: 5, time: timeOf(4), text: 'grade begins' }]);
  putRows(lake, 'uploads', key, [
    { kind: 'log', first_at: START, last_at: timeOf(ROWS - 1), gaps: 1, longest_gap_seconds: 100.1 },
  ]);
  await api.runtime.registry.uploads.insertIfAbsent({
    ...{ id: 'u7', kind: 'log', state: 'stored', bytes: 1, sha256: 'a', receivedAt: iso(START), vehicle: 'KV-7' },
    ...{ firstTime: iso(START), lastTime: iso(timeOf(ROWS - 1)), unmapped: [PUMP, 'Mode'] },
    counts: { rows: ROWS, rowsKept: samples.length, rowsRejected: 0, rowsRejectedBy: {}, valuesRejectedBy: {} },
  });
  return api;
}

const highest = (trace: Trace) =>
  Math.max(...trace.signals.flatMap(({ max, values }) => (max ?? values ?? []).map((value) => value ?? -Infinity)));

it.each([
  ['engine_load_pct', 99],
  [asideId(PUMP), 9.75],
] as const)('a single-sample spike is visible at every zoom: %s', async (signal, peak) => {
  const { call } = await withRecording();
  const ask = async (from: number, to: number, points: number) => {
    const path = `/v1/recordings/u7/trace?signals=${encodeURIComponent(signal)}&from=${iso(from)}&to=${iso(to)}&points=${points}`;
    return traceSchema.parse((await call('GET', path)).body);
  };
  const zoom = fc.record({
    before: fc.integer({ min: 0, max: SPIKE_ROW * 100 }),
    after: fc.integer({ min: 1, max: (ROWS - SPIKE_ROW) * 100 }),
    points: fc.integer({ min: 10, max: 2000 }),
  });
  await fc.assert(
    fc.asyncProperty(zoom, async ({ before, after, points }) => {
      const spike = timeOf(SPIKE_ROW);
      const trace = await ask(spike - before, spike + after, points);
      expect(highest(trace)).toBe(peak);
      expect(trace.at.length).toBeLessThanOrEqual(trace.full ? points * 2 : points + 1);
      const shown = trace.at.findIndex((_at, i) =>
        [trace.signals[0]!.max, trace.signals[0]!.values].some((all) => all?.[i] === peak),
      );
      const until = trace.full ? trace.at : trace.until;
      expect(Date.parse(trace.from) + trace.at[shown]!).toBeLessThanOrEqual(spike);
      expect(Date.parse(trace.from) + until[shown]!).toBeGreaterThanOrEqual(spike);
    }),
    { numRuns: 60, examples: [[{ before: SPIKE_ROW * 100, after: (ROWS - SPIKE_ROW) * 100, points: 10 }]] },
  );
});

it('a gap has no columns, and short spans come row by row', async () => {
  const { call } = await withRecording();
  const whole = traceSchema.parse(
    (await call('GET', '/v1/recordings/u7/trace?signals=coolant_temp_c&points=600')).body,
  );
  const inside = whole.at.filter((at) => at > GAP.from * 100 + 1 && at < GAP.to * 100 - 1);
  expect([whole.full, inside]).toEqual([false, []]);
  const path = `/v1/recordings/u7/trace?signals=coolant_temp_c&from=${iso(timeOf(100))}&to=${iso(timeOf(120))}`;
  const near = traceSchema.parse((await call('GET', path)).body);
  expect(near).toMatchObject({ full: true, holdMs: 5000 });
  expect(near.at).toHaveLength(21);
  expect(near.signals[0]!.values!.slice(0, 3)).toEqual([88, null, null]);
  expect((await call('GET', '/v1/recordings/u7/trace?signals=warp')).body).toMatchObject({
    code: 'parameter_invalid',
    field: 'signals',
  });
  expect((await call('GET', '/v1/recordings/none/trace?signals=coolant_temp_c')).body).toMatchObject({
    code: 'upload_unknown',
  });
});

it('a channel that the catalogue does not know is read like a signal: numbers as written, words said to be no plot', async () => {
  const { call } = await withRecording();
  const recording = recordingSchema.parse((await call('GET', '/v1/recordings/u7')).body);
  const id = asideId(PUMP);
  expect(recording.signals.map(({ signal }) => signal)).toEqual(['coolant_temp_c', id]);
  expect(recording.signals[1]).toMatchObject({
    ...{ aside: true, label: PUMP, channel: PUMP, unit: 'V', sourceUnit: 'V', valid: 4, blank: 1, leftOut: 1 },
    ...{ min: -0.1, minAt: iso(timeOf(20_020)), max: 9.75, maxAt: iso(timeOf(SPIKE_ROW)) },
  });
  expect(recording.texts).toEqual([{ channel: 'Mode', cells: 2, example: 'eco' }]);
  const at = async (row: number, signals = id) => {
    const query = new URLSearchParams({ signals, from: iso(timeOf(row)), to: iso(timeOf(row) + 1) });
    return traceSchema.parse((await call('GET', `/v1/recordings/u7/trace?${query}`)).body).signals;
  };
  // The value of a row is that of the last cell up to it, which may lie before the span that was asked for.
  expect((await at(500))[0]!.values).toEqual([2.5]);
  expect((await at(20_005))[0]!.values).toEqual([null]);
  expect((await at(20_015))[0]!.values).toEqual([null]);
  expect(await at(25_000, `engine_load_pct,${id}`)).toEqual([
    { signal: 'engine_load_pct', values: [20] },
    { signal: id, values: [-0.1] },
  ]);
  for (const signals of [asideId('Never there'), `${id}%`])
    expect((await call('GET', `/v1/recordings/u7/trace?${new URLSearchParams({ signals })}`)).body).toMatchObject({
      code: 'parameter_invalid',
      field: 'signals',
    });
});

it('a channel kept aside of a published log is traced row by row as its file has it', async () => {
  const { call, runtime } = await withRecording();
  const file = new URL('../../fixtures/logs/car-csv-no-coolant/data_log.csv', import.meta.url);
  const text = readFileSync(file, 'utf8');
  const hints = { recordedAtMs: START, timeZone: 'UTC' };
  const plan = await storeLog(runtime.config.lakeDirectory, { ...{ vehicle: 'KV-7', upload: 'u8' }, text, hints });
  const unmapped = plan.channels.filter(({ role }) => role === 'unmapped').map(({ header }) => header);
  expect(unmapped).toEqual(['Air Intake']);
  const written = text
    .trim()
    .split(/\r?\n/)
    .slice(1)
    .map((line) => Number(line.split(',')[8]));
  await runtime.registry.uploads.insertIfAbsent({
    ...{ id: 'u8', kind: 'log', state: 'stored', bytes: 1, sha256: 'b', receivedAt: iso(START), vehicle: 'KV-7' },
    ...{ firstTime: iso(START - 86_400_000), lastTime: iso(START + 86_400_000), unmapped },
  });
  const id = asideId('Air Intake');
  const of = async (points: number) =>
    traceSchema.parse((await call('GET', `/v1/recordings/u8/trace?signals=${id}&points=${points}`)).body);
  const rows = await of(2000);
  expect([rows.full, rows.signals[0]!.values]).toEqual([true, written]);
  const { min, max } = (await of(10)).signals[0]!;
  expect([Math.min(...(min as number[])), Math.max(...(max as number[]))]).toEqual([
    Math.min(...written),
    Math.max(...written),
  ]);
  const [figures] = recordingSchema
    .parse((await call('GET', '/v1/recordings/u8')).body)
    .signals.filter(({ aside }) => aside);
  expect(figures).toMatchObject({ signal: id, unit: '', min: Math.min(...written), max: Math.max(...written) });
});

it('a recording lists signals, episodes and markers; people add markers and take them away', async () => {
  const { call } = await withRecording();
  const list = recordingListSchema.parse((await call('GET', '/v1/vehicles/KV-7/recordings')).body);
  expect(list.recordings).toMatchObject([{ upload: 'u7', drives: 1, gaps: 1, signals: ['coolant_temp_c'] }]);
  const added = await call('POST', '/v1/recordings/u7/markers', {
    at: iso(timeOf(20_500)),
    text: 'fan loud',
    by: 'Ana',
  });
  expect(added.status).toBe(201);
  const recording = recordingSchema.parse((await call('GET', '/v1/recordings/u7')).body);
  expect(recording.suggested).toEqual(['coolant_temp_c']);
  expect(recording.markers).toMatchObject([
    { text: 'grade begins', id: null },
    { text: 'fan loud', by: 'Ana' },
  ]);
  // 118 °C lies between 240 °F (115.6 °C) and 250 °F (121.1 °C): one episode, told at the higher stage it reached.
  expect(recording.episodes).toMatchObject([
    {
      signal: 'coolant_temp_c',
      stage: 'alarm',
      from: iso(timeOf(20_000)),
      seconds: 100,
      worst: 118,
      context: { vehicle_speed_kmh: 30 },
    },
  ]);
  const outside = await call('POST', '/v1/recordings/u7/markers', { at: iso(START - 1), text: 'x', by: 'Ana' });
  expect(outside.body).toMatchObject({ code: 'body_invalid', field: 'at' });
  expect((await call('DELETE', `/v1/recordings/u7/markers/${added.body.id}?by=Ben`)).status).toBe(204);
  expect((await call('GET', '/v1/recordings/u7')).body.markers).toHaveLength(1);
  expect((await call('DELETE', `/v1/recordings/u7/markers/${added.body.id}?by=Ben`)).status).toBe(404);
});

it('a vehicle has its evidence and its notes', async () => {
  const { call } = await withRecording();
  const evidence = vehicleEvidenceSchema.parse((await call('GET', '/v1/vehicles/KV-7/evidence?weeks=2')).body);
  expect(evidence).toMatchObject({ timeZone: 'America/Denver', episodesFound: 1, standing: [] });
  expect(evidence.dwell).toMatchObject([{ signal: 'coolant_temp_c', bins: [{ low: 118, seconds: 100 }] }]);
  expect(evidence.extremes).toMatchObject([
    { min: { value: 88, upload: 'u7' }, max: { value: 118, at: iso(timeOf(20_000)) } },
  ]);
  await call('POST', '/v1/vehicles/KV-7/notes', { text: 'thermostat replaced', by: 'Ana' });
  const { notes } = (await call('GET', '/v1/vehicles/KV-7/notes')).body;
  expect(notes).toMatchObject([{ text: 'thermostat replaced', by: 'Ana', upload: null }]);
  expect((await call('POST', '/v1/vehicles/none/notes', { text: 'x', by: 'y' })).status).toBe(404);
});
