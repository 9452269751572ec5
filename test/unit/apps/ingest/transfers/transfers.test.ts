import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, rmSync, statSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type ProblemCode, TallybayError, type UploadReceipt } from '@tallybay/contracts';
import fc from 'fast-check';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { TransferFiles } from '../../../../../apps/ingest/src/transfers/transfer-files.js';
import { announcedBytes, announcedPiece } from '../../../../../apps/ingest/src/transfers/transfer-headers.js';
import { Transfers } from '../../../../../apps/ingest/src/transfers/transfers.js';

const HOUR_MS = 3_600_000;
const root = mkdtempSync(join(tmpdir(), 'tallybay-transfers-'));
afterAll(() => rmSync(root, { recursive: true }));

let directory: string;
let nowMs: number;
let received: Buffer[];
let problem: TallybayError | null;
let stored: Map<string, UploadReceipt>;
let turn = 0;
beforeEach(async () => {
  directory = join(root, String(++turn));
  nowMs = 1_790_000_000_000;
  received = [];
  problem = null;
  stored = new Map();
  await new TransferFiles(directory).prepare();
});

const sha256Of = (bytes: Uint8Array): string => createHash('sha256').update(bytes).digest('hex');

/** What stands behind the transfers: keeps whole logs, or refuses them with the problem of the moment. */
const target = {
  async receive(source: AsyncIterable<Uint8Array>): Promise<UploadReceipt> {
    const parts: Uint8Array[] = [];
    for await (const part of source) parts.push(part);
    if (problem) throw problem;
    const bytes = Buffer.concat(parts);
    received.push(bytes);
    const receipt: UploadReceipt = {
      ...{ id: sha256Of(bytes).slice(0, 32), state: 'queued', duplicate: false, bytes: bytes.length },
      ...{ vehicle: 'KV-101', problem: null },
    };
    stored.set(sha256Of(bytes), receipt);
    return receipt;
  },
  async seen(sha256: string): Promise<UploadReceipt | null> {
    const receipt = stored.get(sha256);
    return receipt ? { ...receipt, duplicate: true } : null;
  },
};

/** As after a start of the process: nothing is known but what the folder holds. */
const started = (limits: object = {}): Transfers =>
  new Transfers(
    new TransferFiles(directory),
    target,
    { maxOpen: 3, maxTotalBytes: 10_000_000, maxBytes: 1_000_000, keepMs: 24 * HOUR_MS, ...limits },
    () => nowMs,
  );

const announced = (bytes: Uint8Array) => ({ sha256: sha256Of(bytes), length: bytes.length });

async function opened(transfers: Transfers, bytes: Uint8Array) {
  const answer = await transfers.open(announced(bytes), { vehicle: 'KV-101' });
  if ('upload' in answer) throw new Error('it was there before');
  return answer;
}

async function* parts(...given: (Uint8Array | Error)[]): AsyncGenerator<Uint8Array> {
  for (const one of given) {
    if (one instanceof Error) throw one;
    yield one;
  }
}

const piece = (offset: number, complete: boolean, ...given: (Uint8Array | Error)[]) => ({
  ...{ offset, complete, cut: () => undefined },
  bytes: parts(...given),
});

const failsWith = async (code: ProblemCode, action: Promise<unknown>): Promise<TallybayError> => {
  const error = await action.then(
    () => new Error('it went through'),
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(TallybayError);
  expect((error as TallybayError).code).toBe(code);
  return error as TallybayError;
};

describe('a transfer', () => {
  it('ends with the same bytes however it is cut into pieces, cut off, and taken up by another process', async () => {
    const seed = Date.now() % 2 ** 31;
    console.info(`seed ${seed}`);
    const step = fc.record({ size: fc.integer({ min: 0, max: 400 }), cut: fc.boolean(), restart: fc.boolean() });
    await fc.assert(
      fc.asyncProperty(
        fc.uint8Array({ minLength: 1, maxLength: 1000 }),
        fc.array(step, { maxLength: 5 }),
        async (bytes, steps) => {
          stored.clear();
          let transfers = started();
          let { transfer } = await opened(transfers, bytes);
          for (const { size, cut, restart } of steps) {
            const some = bytes.subarray(transfer.offset, transfer.offset + size);
            const given = cut ? [some, new Error('cut')] : [some];
            await transfers.append(transfer.id, piece(transfer.offset, false, ...given)).catch(() => undefined);
            if (restart) transfers = started();
            const expected = transfer.offset + some.length;
            transfer = await transfers.find(transfer.id);
            expect(transfer.offset).toBe(expected);
          }
          const last = await transfers.append(
            transfer.id,
            piece(transfer.offset, true, bytes.subarray(transfer.offset)),
          );
          expect(last).toMatchObject({ upload: { duplicate: false, bytes: bytes.length } });
          expect(received.at(-1)).toEqual(Buffer.from(bytes));
          expect(readdirSync(directory)).toEqual([]);
        },
      ),
      { numRuns: 15, seed },
    );
  });

  const bytes = Buffer.from('0123456789'.repeat(30));

  it('is found again by digest and length, and answers with the upload once the bytes are stored', async () => {
    const transfers = started();
    const { transfer, fresh } = await opened(transfers, bytes);
    expect({ fresh, transfer }).toMatchObject({ fresh: true, transfer: { offset: 0, length: 300 } });
    await transfers.append(transfer.id, piece(0, false, bytes.subarray(0, 100)));
    const again = await opened(started(), bytes);
    expect(again).toMatchObject({ fresh: false, transfer: { id: transfer.id, offset: 100 } });
    const { upload } = (await transfers.append(transfer.id, piece(100, true, bytes.subarray(100)))) as {
      upload: UploadReceipt;
    };
    expect(await transfers.open(announced(bytes), {})).toEqual({ upload: { ...upload, duplicate: true } });
    await failsWith('transfer_unknown', transfers.find(transfer.id));
  });

  it('refuses another offset and names the right one, and more or fewer bytes than were announced', async () => {
    const transfers = started();
    const { transfer } = await opened(transfers, bytes);
    await transfers.append(transfer.id, piece(0, false, bytes.subarray(0, 100)));
    const wrong = await failsWith('transfer_offset', transfers.append(transfer.id, piece(50, false, bytes)));
    expect(wrong.message).toContain('byte 100');
    await failsWith('transfer_length', transfers.append(transfer.id, piece(100, false, bytes)));
    await failsWith('transfer_length', transfers.append(transfer.id, piece(100, true, bytes.subarray(100, 200))));
    expect(await transfers.find(transfer.id)).toMatchObject({ offset: 200 });
    await transfers.append(transfer.id, piece(200, true, bytes.subarray(200)));
    expect(received).toEqual([bytes]);
  });

  it('is dropped when other bytes arrived than were announced', async () => {
    const transfers = started();
    const { transfer } = await opened(transfers, bytes);
    const other = Buffer.from(bytes);
    other[7]! ^= 1;
    await failsWith('transfer_altered', transfers.append(transfer.id, piece(0, true, other)));
    expect(received).toEqual([]);
    expect((await opened(transfers, bytes)).transfer.offset).toBe(0);
  });

  it('forgets what the disk may not have kept when the machine went down', async () => {
    const { transfer } = await opened(started(), bytes);
    await started().append(transfer.id, piece(0, false, bytes.subarray(0, 100)));
    const part = join(directory, `${transfer.id}.part`);
    // Size and content of what was not synced are anything after a power cut: here 50 further bytes, all zero.
    truncateSync(part, 150);
    expect(await started().find(transfer.id)).toMatchObject({ offset: 100 });
    await started().append(transfer.id, piece(100, true, bytes.subarray(100)));
    expect(received).toEqual([bytes]);
  });

  it('stays when the store cannot take it now, goes when the log is refused', async () => {
    const transfers = started();
    const { transfer } = await opened(transfers, bytes);
    problem = new TallybayError('stream_unavailable', 'away');
    await failsWith('stream_unavailable', transfers.append(transfer.id, piece(0, true, bytes)));
    problem = null;
    expect(await transfers.append(transfer.id, piece(300, true))).toMatchObject({ upload: { bytes: 300 } });
    stored.clear();
    const second = await opened(transfers, bytes);
    problem = new TallybayError('log_no_time', 'no time');
    await failsWith('log_no_time', transfers.append(second.transfer.id, piece(0, true, bytes)));
    await failsWith('transfer_unknown', transfers.find(second.transfer.id));
  });
});

describe('two senders of one transfer', () => {
  const bytes = Buffer.from('abcdefghij'.repeat(10));

  it('one is told that the other is sending; one that fell silent makes room', async () => {
    const transfers = started();
    const { transfer } = await opened(transfers, bytes);
    const line = Promise.withResolvers<never>();
    line.promise.catch(() => undefined);
    async function* slow(): AsyncGenerator<Uint8Array> {
      yield bytes.subarray(0, 40);
      yield await line.promise;
    }
    const first = transfers.append(transfer.id, {
      ...{ offset: 0, complete: true, bytes: slow() },
      cut: () => line.reject(new Error('the line was cut')),
    });
    first.catch(() => undefined);
    await expect.poll(() => readdirSync(directory).includes(`${transfer.id}.part`)).toBe(true);
    await expect.poll(() => statSync(join(directory, `${transfer.id}.part`)).size).toBe(40);
    await failsWith('transfer_busy', transfers.append(transfer.id, piece(0, true, bytes)));
    await failsWith('transfer_busy', transfers.drop(transfer.id));
    nowMs += 11_000;
    // The bytes of the silent one are kept, so the newcomer, who began at 0, learns where it goes on.
    await failsWith('transfer_offset', transfers.append(transfer.id, piece(0, true, bytes)));
    await failsWith('body_cut', first);
    await transfers.append(transfer.id, piece(40, true, bytes.subarray(40)));
    expect(received).toEqual([bytes]);
  });
});

describe('limits of transfers', () => {
  const logs = [1, 2, 3, 4].map((value) => Buffer.alloc(1000, value));

  it('so many, so many bytes together, so many bytes each', async () => {
    const few = started();
    for (const log of logs.slice(0, 3)) await opened(few, log);
    const full = await failsWith('transfers_full', few.open(announced(logs[3]!), {}));
    expect(full.message).toContain('at most 3');
    await failsWith('transfers_full', started({ maxOpen: 9, maxTotalBytes: 3500 }).open(announced(logs[3]!), {}));
    await failsWith('body_too_large', started({ maxBytes: 999 }).open(announced(logs[3]!), {}));
    expect((await opened(few, logs[0]!)).fresh).toBe(false);
  });

  it('abandoned ones are dropped, with parts that belong to none; those that still move are not', async () => {
    const transfers = started();
    const left = (await opened(transfers, logs[0]!)).transfer;
    const moving = (await opened(transfers, logs[1]!)).transfer;
    writeFileSync(join(directory, `${'a'.repeat(32)}.part`), 'of no record');
    nowMs += 23 * HOUR_MS;
    await transfers.append(moving.id, piece(0, false, logs[1]!.subarray(0, 10)));
    expect(await transfers.sweep()).toEqual([]);
    nowMs += 2 * HOUR_MS;
    expect(await transfers.sweep()).toEqual([left.id]);
    const gone = await failsWith('transfer_unknown', transfers.find(left.id));
    expect(gone.options.advice).toContain('24 hours');
    expect(readdirSync(directory).toSorted()).toEqual([`${moving.id}.json`, `${moving.id}.part`]);
  });
});

describe('the headers of a transfer', () => {
  it('are read as RFC 9530 writes a digest and RFC 9651 integers and booleans', () => {
    // RFC 9530, appendix D: sha-256 of `{"hello": "world"}` followed by a line feed.
    const digest = 'sha-256=:RK/0qy18MlBSVnWgjwz6lZEWjP/lF5HF9bvEF8FabDg=:';
    const sha256 = sha256Of(Buffer.from('{"hello": "world"}\n'));
    expect(announcedBytes({ 'repr-digest': digest, 'upload-length': '19' })).toEqual({ sha256, length: 19 });
    expect(announcedBytes({ 'repr-digest': `sha-512=:AA==:, ${digest}`, 'upload-length': '19' }).sha256).toBe(sha256);
    expect(announcedPiece({ 'upload-offset': '7' })).toEqual({ offset: 7, complete: false });
    expect(announcedPiece({ 'upload-offset': '7', 'upload-complete': '?1' })).toEqual({ offset: 7, complete: true });
  });

  it('are refused with their name otherwise', () => {
    const cases: [string, () => unknown][] = [
      ['upload-length', () => announcedBytes({})],
      ['upload-length', () => announcedBytes({ 'upload-length': '0' })],
      ['upload-length', () => announcedBytes({ 'upload-length': '-1' })],
      ['repr-digest', () => announcedBytes({ 'upload-length': '5' })],
      ['repr-digest', () => announcedBytes({ 'upload-length': '5', 'repr-digest': 'md5=:AA==:' })],
      ['upload-offset', () => announcedPiece({ 'upload-offset': '1e3' })],
      ['upload-complete', () => announcedPiece({ 'upload-offset': '1', 'upload-complete': 'true' })],
    ];
    for (const [field, action] of cases)
      expect(action, field).toThrow(
        expect.objectContaining({ code: 'parameter_invalid', options: expect.objectContaining({ place: { field } }) }),
      );
  });
});
