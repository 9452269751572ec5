import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { connect } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import type { ProblemDocument, UploadReceipt } from '@tallybay/contracts';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { IngestService } from '../../service/ingest-service.js';

const home = mkdtempSync(join(tmpdir(), 'tallybay-bad-'));
let service: IngestService;
beforeAll(async () => {
  service = await IngestService.start(home, ['KV-101'], { TALLYBAY_LOG_LEVEL: 'info' });
});
afterAll(async () => {
  await service.stop();
  rmSync(home, { recursive: true });
});

async function post(path: string, body: string | Buffer, headers: Record<string, string> = {}) {
  const response = await fetch(service.url + path, {
    method: 'POST',
    body: typeof body === 'string' ? body : new Uint8Array(body),
    headers,
  });
  return {
    status: response.status,
    type: response.headers.get('content-type') ?? '',
    body: (await response.json()) as ProblemDocument & UploadReceipt,
  };
}

/** A good log with one value that makes it this test's own. */
const goodLog = (mark: number) =>
  `Time,Engine Coolant Temperature (°C),Engine RPM\n${Array.from({ length: 30 }, (_, i) => `2026-10-05T12:00:${String(i).padStart(2, '0')}Z,${80 + (i % 3)},${700 + mark}`).join('\n')}\n`;

/** Whatever came before, the next good log still goes through. */
async function expectAlive(mark: number): Promise<void> {
  const receipt = await post('/v1/logs?vehicle=KV-101', goodLog(mark));
  expect(receipt.status).toBe(202);
  const upload = await service.untilDone(receipt.body.id);
  expect(upload).toMatchObject({ state: 'stored', counts: { rowsKept: 30 } });
}

const row = (cells: number) => Array.from({ length: cells }, (_, i) => i).join(',');
const refused: [name: string, code: string, status: number, body: string | Buffer][] = [
  ['an empty file', 'body_empty', 400, ''],
  ['a binary file', 'body_not_text', 415, Buffer.from(Array.from({ length: 5000 }, (_, i) => (i * 7919) % 256))],
  ['a header without rows', 'log_no_rows', 422, 'Time,Engine RPM\n'],
  ['no time column', 'log_no_time', 422, 'Engine RPM,Coolant (°C)\n800,80\n801,81\n'],
  [
    '5,000 columns',
    'log_too_many_columns',
    422,
    `Time,${Array.from({ length: 4999 }, (_, i) => `c${i}`).join(',')}\n2026-10-05T12:00:00Z,${row(4999)}\n`,
  ],
  ['a 1 MB cell', 'log_cell_too_long', 422, `Time,Note\n2026-10-05T12:00:00Z,${'x'.repeat(1_000_000)}\n`],
];

describe('a log that cannot be one is refused with its reason, and the service goes on', () => {
  for (const [i, [name, code, status, body]] of refused.entries()) {
    it(name, async () => {
      const answer = await post('/v1/logs?vehicle=KV-101&fileName=drive.csv', body);
      expect(answer.body).toMatchObject({ code, status });
      expect(answer.status).toBe(status);
      expect(answer.type).toContain('application/problem+json');
      expect(answer.body.detail.length).toBeGreaterThan(10);
      expect(answer.body.advice?.length ?? 0).toBeGreaterThan(10);
      await expectAlive(i + 1);
    });
  }

  it('a parameter that is no time zone, no instant', async () => {
    expect((await post('/v1/logs?timeZone=Mars/Olympus', goodLog(90))).body).toMatchObject({
      code: 'parameter_invalid',
      field: 'timeZone',
    });
    expect((await post('/v1/logs?recordedAt=yesterday', goodLog(90))).body).toMatchObject({
      code: 'parameter_invalid',
      field: 'recordedAt',
    });
  });

  it('a parameter that nobody reads, of a log, a snapshot, a list', async () => {
    const slip = { code: 'parameter_invalid', field: 'timezone', status: 400 };
    expect((await post('/v1/logs?vehicle=KV-101&timezone=UTC', goodLog(90))).body).toMatchObject(slip);
    expect((await post('/v1/snapshots?timezone=UTC', '{}')).body).toMatchObject(slip);
    expect(await (await fetch(`${service.url}/v1/uploads?state=waiting&timezone=UTC`)).json()).toMatchObject(slip);
  });

  it('a damaged gzip stream', async () => {
    const packed = gzipSync(Buffer.from(goodLog(91).repeat(2000)));
    expect((await post('/v1/logs?vehicle=KV-101', packed.subarray(0, packed.length - 30))).body).toMatchObject({
      code: 'body_cut',
      status: 400,
    });
    await expectAlive(92);
  });
});

describe('bad rows and values in a good log are counted by reason, and the rest is kept', () => {
  const rows = [
    '2026-10-05T12:00:00Z,80,700,5',
    '2026-10-05T12:00:01Z,81,700',
    '2026-10-05T12:00:02Z,81,700,5,99,98',
    '2026-10-05T12:00:03Z,NaN,700,5',
    '2026-10-05T12:00:04Z,inf,700,5',
    '2026-10-05T12:00:05Z,1e400,700,5',
    '2026-10-05T12:00:06Z,-40,700,5',
    '1970-01-01T00:00:00Z,82,700,5',
    '2150-01-01T00:00:00Z,82,700,5',
    'not a time,82,700,5',
    '2026-10-05T12:00:07Z,82,700,5',
  ];
  it('rows too short or too long, dates of 1970 and of the future, NaN, inf, 1e400, the open-circuit value', async () => {
    const receipt = await post(
      '/v1/logs?vehicle=KV-101',
      `Time,Engine Coolant Temperature (°C),Engine RPM,Vehicle Speed (km/h)\n${rows.join('\n')}\n`,
    );
    expect(receipt.status).toBe(202);
    const { counts } = await service.untilDone(receipt.body.id);
    expect(counts).toMatchObject({ rows: 11, rowsKept: 6, rowsRejected: 5 });
    expect(counts?.rowsRejectedBy).toMatchObject({
      row_short: 1,
      row_long: 1,
      time_implausible: 2,
      time_unreadable: 1,
    });
    expect(counts?.valuesRejectedBy).toMatchObject({ out_of_range: 1 });
  });
});

describe('uploads that cannot go on wait in a list', () => {
  it('an unknown vehicle, no vehicle, no zone, no date; each goes on once released', async () => {
    const cases: [query: string, log: string, code: string, release: object][] = [
      ['vehicle=KV-999', goodLog(201), 'vehicle_unknown', { vehicle: 'KV-101' }],
      ['', goodLog(202), 'vehicle_missing', { vehicle: 'KV-101' }],
      ['vehicle=KV-101', goodLog(203).replaceAll('Z,', ','), 'zone_missing', { timeZone: 'America/Denver' }],
      [
        'vehicle=KV-101',
        goodLog(204).replaceAll('2026-10-05T', '').replaceAll('Z,', ','),
        'time_missing',
        { recordedAt: '2026-10-05T12:00:00Z' },
      ],
    ];
    for (const [query, log, code, release] of cases) {
      const receipt = await post(`/v1/logs?${query}`, log);
      expect(receipt.status, code).toBe(202);
      expect(receipt.body, code).toMatchObject({ state: 'waiting', problem: { code } });
      const { uploads } = await service.get<{ uploads: { id: string }[] }>('/v1/uploads?state=waiting');
      expect(uploads.map((upload) => upload.id)).toContain(receipt.body.id);
      const released = await post(`/v1/uploads/${receipt.body.id}/release`, JSON.stringify(release));
      expect(released.status, code).toBe(200);
      const done = await service.untilDone(receipt.body.id);
      expect(done, code).toMatchObject({ state: 'stored', vehicle: 'KV-101', counts: { rowsKept: 30 } });
      expect(done.firstTime, code).toBe(
        code === 'zone_missing' ? '2026-10-05T18:00:00.000Z' : '2026-10-05T12:00:00.000Z',
      );
    }
  });

  it('a release that helps nothing, of an upload that does not wait, and of none at all', async () => {
    const { body } = await post('/v1/logs', goodLog(210));
    expect((await post(`/v1/uploads/${body.id}/release`, '{"vehicle":"KV-998"}')).body).toMatchObject({
      code: 'vehicle_unknown',
      field: 'vehicle',
    });
    expect((await post(`/v1/uploads/${body.id}/release`, '{"vehicel":"KV-101"}')).body).toMatchObject({
      code: 'body_invalid',
    });
    await post(`/v1/uploads/${body.id}/release`, '{"vehicle":"KV-101"}');
    expect((await post(`/v1/uploads/${body.id}/release`, '{"vehicle":"KV-101"}')).body).toMatchObject({
      code: 'upload_not_waiting',
      status: 409,
    });
    expect((await post('/v1/uploads/none/release', '{}')).body).toMatchObject({ code: 'upload_unknown', status: 404 });
  });
});

describe('snapshots', () => {
  it('malformed ones are refused with the field', async () => {
    const good = { vehicle: 'KV-101', time: '2026-10-05T12:00:00Z', codes: [{ code: 'P0217', status: 'confirmed' }] };
    const cases: [string, object][] = [
      ['{"vehicle":', { code: 'snapshot_malformed' }],
      ['[]', { code: 'snapshot_malformed' }],
      [JSON.stringify({ ...good, time: 'noon' }), { code: 'snapshot_malformed', field: 'time' }],
      [
        JSON.stringify({ ...good, codes: [{ code: 'P0217', status: 'maybe' }] }),
        { code: 'snapshot_malformed', field: 'codes.0.status' },
      ],
      ['', { code: 'body_empty' }],
    ];
    for (const [body, expected] of cases) expect((await post('/v1/snapshots', body)).body).toMatchObject(expected);
    const receipt = await post('/v1/snapshots', JSON.stringify(good));
    expect(receipt.status).toBe(202);
    expect(await service.untilDone(receipt.body.id)).toMatchObject({ state: 'stored', vehicle: 'KV-101' });
    expect(await post('/v1/snapshots', JSON.stringify(good))).toMatchObject({
      status: 200,
      body: { id: receipt.body.id, duplicate: true },
    });
  });
});

describe('a connection that is cut', () => {
  it('leaves no upload behind, and the same log goes through afterwards', async () => {
    const log = Buffer.from(goodLog(300).repeat(3000));
    const { hostname, port } = new URL(service.url);
    await new Promise<void>((resolve) => {
      const socket = connect(Number(port), hostname, () => {
        socket.write(`POST /v1/logs?vehicle=KV-101 HTTP/1.1\r\nHost: x\r\nContent-Length: ${log.length}\r\n\r\n`);
        socket.write(log.subarray(0, log.length / 2), () => setTimeout(() => socket.destroy(), 100));
      });
      socket.on('close', () => resolve());
    });
    const before = await service.get<{ uploads: Record<string, number> }>('/v1/pipeline');
    expect(before.uploads.landed ?? 0).toBe(0);
    const again = await post('/v1/logs?vehicle=KV-101', log);
    expect(again.status).toBe(202);
    expect(again.body.duplicate).toBe(false);
    await service.untilDone(again.body.id);
  });
});

describe('a store that cannot be written', () => {
  it('stops the start with its path and an exit code', async () => {
    const file = join(home, 'plain-file');
    writeFileSync(file, '');
    const ended = await IngestService.startExpectingFailure(join(file, 'data'));
    expect(ended.exitCode).toBe(73);
    expect(ended.output).toContain(file);
  });

  it('a wrong setting is named', async () => {
    const ended = await IngestService.startExpectingFailure(join(home, 'other'), { TALLYBAY_INGEST_PORT: '99999' });
    expect(ended.exitCode).toBe(64);
    expect(ended.output).toContain('TALLYBAY_INGEST_PORT');
  });
});

describe('an address that is not there', () => {
  it('answers problem+json', async () => {
    const answer = await post('/v1/nothing', '');
    expect(answer).toMatchObject({ status: 404, body: { code: 'route_unknown' } });
    expect(answer.type).toContain('application/problem+json');
  });
});

it('the log says which request brought an upload, and names it again when it is stored', async () => {
  const { body } = await post('/v1/logs?vehicle=KV-101', goodLog(977), { 'x-request-id': 'depot-42' });
  const about = () =>
    service.log
      .split('\n')
      .filter((line) => line.endsWith('}') && line.includes(body.id))
      .map((line) => JSON.parse(line) as Record<string, unknown>);
  await expect.poll(() => about().map(({ msg }) => msg), { timeout: 10_000 }).toContain('upload stored');
  expect(about()[0]).toMatchObject({ msg: 'upload received', requestId: 'depot-42', vehicle: 'KV-101' });
});
