import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, request as httpRequest } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ProblemDocument, TransferOpened, UploadReceipt } from '@tallybay/contracts';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { ApiProcess } from '../../service/api-process.js';
import { IngestService } from '../../service/ingest-service.js';
import { runTallybay } from '../../unit/apps/cli/recorded-terminal.js';

const home = mkdtempSync(join(tmpdir(), 'tallybay-transfer-'));
let service: IngestService;
let api: ApiProcess;
beforeAll(async () => {
  service = await IngestService.start(home, ['KV-101']);
  api = await ApiProcess.start(home, service.url);
});
afterAll(async () => {
  await api.stop();
  await service.stop();
  rmSync(home, { recursive: true });
});

/** A busy machine sees a cut line late. */
const WAIT = { timeout: 10_000 };

const ROWS = 60_000;
const NOTE = 'x'.repeat(190);
/** About 14 MB, more than one synced stretch (8 MiB), of few rows, so that decoding is quick. Distinct by its mark. */
function logOf(mark: number, rows = ROWS): Buffer {
  const start = Date.parse('2026-10-05T00:00:00Z');
  const lines = Array.from(
    { length: rows },
    (_, i) => `${new Date(start + i * 100).toISOString()},${80 + (i % 20)},${700 + mark},${NOTE}`,
  );
  return Buffer.from(`Time,Engine Coolant Temperature (°C),Engine RPM,Note\n${lines.join('\n')}\n`);
}

const digestOf = (bytes: Uint8Array): string => `sha-256=:${createHash('sha256').update(bytes).digest('base64')}:`;

async function open(
  base: string,
  bytes: Uint8Array,
): Promise<{ status: number; offset: number; path: string } & TransferOpened> {
  const headers = { 'upload-length': String(bytes.length), 'repr-digest': digestOf(bytes) };
  const response = await fetch(`${base}/v1/transfers?vehicle=KV-101&fileName=drive.csv`, { method: 'POST', headers });
  const path = response.headers.get('location') ?? '';
  const offset = Number(response.headers.get('upload-offset'));
  return { status: response.status, offset, path, ...((await response.json()) as TransferOpened) };
}

async function append(base: string, path: string, offset: number, bytes: Uint8Array, complete = false) {
  const headers = { 'upload-offset': String(offset), 'upload-complete': complete ? '?1' : '?0' };
  const body = new Uint8Array(bytes);
  const response = await fetch(base + path, { method: 'PATCH', headers, body });
  const text = await response.text();
  const answer = (text === '' ? null : JSON.parse(text)) as (UploadReceipt & ProblemDocument) | null;
  return { status: response.status, offset: response.headers.get('upload-offset'), answer };
}

async function offsetOf(base: string, path: string): Promise<number> {
  const response = await fetch(base + path, { method: 'HEAD' });
  expect(response.headers.get('cache-control')).toBe('no-store');
  return Number(response.headers.get('upload-offset'));
}

/** Sends `bytes` as the beginning of a longer body and keeps the line open. @returns how to cut it */
async function sendAndHold(base: string, path: string, offset: number, bytes: Uint8Array, total: number) {
  const request = httpRequest(base + path, {
    method: 'PATCH',
    headers: { 'upload-offset': String(offset), 'upload-complete': '?1', 'content-length': String(total) },
  });
  request.on('error', () => undefined);
  await new Promise<void>((resolve) => request.write(bytes, () => resolve()));
  return () => request.destroy();
}

describe('a log that arrives in pieces', () => {
  it('through the api: cut in mid-piece, by a stop in the middle, by kill -9; then in the lake like any other', async () => {
    const log = logOf(1);
    const first = await open(api.url, log);
    expect(first).toMatchObject({ status: 201, offset: 0, upload: null });

    const cut = await sendAndHold(api.url, first.path, 0, log.subarray(0, 3_000_000), log.length);
    // What is received is safe at the latest when the line is cut.
    await new Promise((resolve) => setTimeout(resolve, 300));
    cut();
    await expect.poll(() => offsetOf(api.url, first.path), WAIT).toBe(3_000_000);

    await sendAndHold(api.url, first.path, 3_000_000, log.subarray(3_000_000, 4_000_000), log.length - 3_000_000);
    await new Promise((resolve) => setTimeout(resolve, 300));
    await service.stop();
    service = await service.again();
    expect(await open(api.url, log)).toMatchObject({ status: 200, offset: 4_000_000, path: first.path });

    const piece = log.subarray(4_000_000, 4_000_000 + 9_000_000);
    await sendAndHold(service.url, first.path, 4_000_000, piece, log.length - 4_000_000);
    await expect.poll(() => offsetOf(service.url, first.path), WAIT).toBeGreaterThan(12_000_000);
    await service.kill();
    service = await service.again();
    const safe = await offsetOf(api.url, first.path);
    expect(safe).toBeGreaterThan(12_000_000);

    const last = await append(api.url, first.path, safe, log.subarray(safe), true);
    expect(last).toMatchObject({ status: 202, answer: { duplicate: false, bytes: log.length, vehicle: 'KV-101' } });
    const id = last.answer!.id;
    expect(await service.untilDone(id)).toMatchObject({ state: 'stored', counts: { rowsKept: ROWS } });
    const raw = await fetch(`${service.url}/v1/uploads/${id}/raw`);
    expect(digestOf(new Uint8Array(await raw.arrayBuffer()))).toBe(digestOf(log));
    expect(readdirSync(join(home, 'transfers'))).toEqual([]);
    expect(await open(api.url, log)).toMatchObject({ status: 200, transfer: null, upload: { id, duplicate: true } });
  });

  const small = logOf(2, 300);

  it('two senders: one gets 409 while the other sends; a wrong offset is told the right one', async () => {
    const { path } = await open(api.url, small);
    const cut = await sendAndHold(api.url, path, 0, small.subarray(0, 1000), small.length);
    await new Promise((resolve) => setTimeout(resolve, 200));
    expect(await append(api.url, path, 0, small, true)).toMatchObject({
      status: 409,
      answer: { code: 'transfer_busy' },
    });
    cut();
    await expect.poll(() => offsetOf(api.url, path), WAIT).toBe(1000);
    expect(await append(api.url, path, 0, small, true)).toMatchObject({
      ...{ status: 409, offset: '1000' },
      answer: { code: 'transfer_offset', detail: expect.stringContaining('byte 1000') },
    });
    expect(await append(api.url, path, 1000, small.subarray(1000, 2000))).toEqual({
      ...{ status: 204, offset: '2000', answer: null },
    });
    expect((await append(api.url, path, 2000, small.subarray(2000), true)).status).toBe(202);
  });

  it('altered bytes, a log that is none, and a dropped transfer', async () => {
    const altered = Buffer.from(logOf(3, 300));
    const { path } = await open(service.url, altered);
    altered[500]! ^= 1;
    const refused = await append(service.url, path, 0, altered, true);
    expect(refused).toMatchObject({ status: 422, answer: { code: 'transfer_altered' } });
    const gone = await append(service.url, path, 0, altered, true);
    expect(gone).toMatchObject({ status: 404, answer: { code: 'transfer_unknown' } });
    expect(gone.answer?.advice).toContain('POST /v1/transfers');

    const noTime = Buffer.from('Engine RPM,Coolant (°C)\n800,80\n801,81\n');
    const { path: none } = await open(service.url, noTime);
    expect(await append(service.url, none, 0, noTime, true)).toMatchObject({ answer: { code: 'log_no_time' } });

    const { path: dropped } = await open(service.url, logOf(4, 300));
    expect((await fetch(service.url + dropped, { method: 'DELETE' })).status).toBe(204);
    expect((await fetch(service.url + dropped)).status).toBe(404);
    expect(readdirSync(join(home, 'transfers'))).toEqual([]);
  });
});

/** A line to the api that breaks once, when so many bytes of a PATCH have passed. @returns its address, and where PATCHes began */
async function breakingLine(afterBytes: number): Promise<{ url: string; offsets: number[] }> {
  const offsets: number[] = [];
  const server = createServer((request, response) => {
    const breaks = request.method === 'PATCH' && offsets.push(Number(request.headers['upload-offset'])) === 1;
    const { method, headers } = request;
    const onward = httpRequest(api.url + request.url, { method, headers }, (answer) => {
      response.writeHead(answer.statusCode ?? 502, answer.headers);
      answer.pipe(response);
    });
    onward.on('error', () => response.destroy());
    let passed = 0;
    request.on('data', (part: Buffer) => {
      passed += part.length;
      if (!breaks || passed < afterBytes) return;
      request.unpipe(onward).pause();
      setTimeout(() => request.destroy(), 200);
    });
    request.on('close', () => request.complete || onward.destroy());
    request.on('error', () => onward.destroy());
    request.pipe(onward);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => void server.close());
  return { url: `http://127.0.0.1:${(server.address() as AddressInfo).port}`, offsets };
}

it('tallybay upload goes on inside a file that an earlier run did not bring to its end', async () => {
  const log = logOf(9);
  const file = join(home, 'drive.csv');
  writeFileSync(file, log);
  const { url, offsets } = await breakingLine(4_000_000);
  const run = (retries: number) =>
    runTallybay(['upload', file, '--vehicle', 'KV-101', '--url', url, '--retries', String(retries)], {
      ...{ cwd: home, env: { TALLYBAY_STATE_DIR: join(home, '.state') } },
    });
  const broken = await run(0);
  expect(broken.out.join('\n')).toMatch(/^failed/);
  expect(broken.exitCode).toBe(69);
  const { path } = await open(api.url, log);
  await expect.poll(() => offsetOf(api.url, path), WAIT).toBeGreaterThan(1_000_000);
  // As long as the service has not seen the cut, the first request holds the transfer: then it is tried again.
  const again = await run(5);
  expect(again.out.join('\n')).toMatch(/^sent/);
  expect(offsets[0]).toBe(0);
  expect(offsets.at(-1)).toBeGreaterThan(1_000_000);
});
