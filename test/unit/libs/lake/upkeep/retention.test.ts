import { existsSync, readdirSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import {
  AnalystSandbox,
  commitStaged,
  expireUploads,
  filesOfUpload,
  Lake,
  partFile,
  removeWithheld,
  type StagedUpload,
  stagingFile,
  withheldFiles,
  writeTableFile,
} from '@tallybay/lake';
import { describe, expect, it, onTestFinished } from 'vitest';
import { z } from 'zod';
import { putRows, temporaryLake } from '../lake-builder.js';
import { openPlainLake } from '../plain-lake.js';

// Own rule (issue "The analyst's history", upkeep): what no longer counts is out of every reader's answers at one moment, and
// its file stays for those that listed it before.

const NOW = Date.parse('2026-11-26T00:00:00Z');
const DAY = 86_400_000;
const HOUR = 3_600_000;
const uploads = [0, 1, 2, 3].map((n) => ({ vehicleId: 'KV 1', uploadId: `u${n}`, lastMs: NOW - n * 100 * DAY }));

/** Four uploads of one vehicle, 0 to 300 days old, ten samples and one drive each. */
function filledLake(): string {
  const lake = temporaryLake();
  for (const { vehicleId: vehicle, uploadId: upload, lastMs } of uploads) {
    const rows = Array.from({ length: 10 }, (_, row) => ({ row_no: row + 1, time: lastMs - row * 1000 }));
    putRows(lake, 'samples', { vehicle, upload }, rows);
    putRows(lake, 'drives', { vehicle, upload }, [{ drive_id: `${upload}-d1`, started_at: lastMs, seconds: 60 }]);
  }
  return lake;
}

const COUNTS = 'SELECT (SELECT count(*) FROM samples)::INT AS samples, (SELECT count(*) FROM drives)::INT AS drives';
const counts = z.object({ samples: z.number(), drives: z.number() });

/** The same question to the services' reader, an analyst's process and the plain DuckDB command line, all opened before. */
async function readers(lake: string) {
  const own = await Lake.open(lake, { threads: 1 });
  const one = await Lake.open(lake, { threads: 1, vehicle: 'KV 1' });
  const sandbox = await AnalystSandbox.open({ lake, results: join(lake, 'results'), threads: 1, memoryMb: 256 });
  const plain = await openPlainLake(lake);
  onTestFinished(() => {
    own.close();
    one.close();
  });
  const analyst = async () => {
    const texts: string[] = [];
    const asked = sandbox.answer({ sql: COUNTS, format: 'csv', maxRows: 10 });
    for await (const part of asked) if (part.kind === 'bytes') texts.push(Buffer.concat(part.bytes).toString());
    const [samples, drives] = texts.join('').trim().split('\n').at(-1)!.split(',').map(Number);
    return { samples, drives };
  };
  return async () => [
    (await own.query(COUNTS, counts))[0],
    (await one.query(COUNTS, counts))[0],
    await analyst(),
    (await plain.runAndReadAll(COUNTS)).getRowObjectsJS()[0],
  ];
}

const everyReader = (samples: number, drives: number) => Array(4).fill({ samples, drives });

function age(lake: string, hours: number): void {
  const folder = join(lake, 'withheld');
  for (const name of readdirSync(folder))
    utimesSync(join(folder, name), NOW / 1000 - hours * 3600, NOW / 1000 - hours * 3600);
}

describe('retention', () => {
  it('takes old rows out of every reader at once, whole uploads, table by table', async () => {
    const lake = filledLake();
    const ask = await readers(lake);
    expect(await ask()).toEqual(everyReader(40, 4));
    const expired = expireUploads(lake, uploads, { keep: { samples: 150, drives: 250 }, nowMs: NOW });
    expect(expired.map(({ uploadId, tables }) => [uploadId, tables])).toEqual([
      ['u2', ['samples']],
      ['u3', ['samples', 'drives']],
    ]);
    expect(await ask()).toEqual(everyReader(20, 3));
    expect(expireUploads(lake, uploads, { keep: { samples: 150, drives: 250 }, nowMs: NOW })).toEqual([]);
  });

  it('keeps for ever what has no limit, and rows exactly as old as the limit', () => {
    const lake = filledLake();
    expect(expireUploads(lake, uploads, { keep: {}, nowMs: NOW })).toEqual([]);
    expect(expireUploads(lake, uploads, { keep: { samples: 300, drives: null }, nowMs: NOW })).toEqual([]);
  });

  it('leaves the files where they are for the grace, removes them after it, and forgets them after two', async () => {
    const lake = filledLake();
    const ask = await readers(lake);
    expireUploads(lake, uploads, { keep: { samples: 150 }, nowMs: NOW });
    const old = partFile(lake, 'samples', 'KV 1', 'u3', 0);
    age(lake, 0.9);
    expect(removeWithheld(lake, NOW, HOUR)).toEqual({ files: 0, bytes: 0 });
    expect(existsSync(old)).toBe(true);
    age(lake, 1.1);
    expect(removeWithheld(lake, NOW, HOUR)).toMatchObject({ files: 2 });
    expect([existsSync(old), withheldFiles(lake).size]).toEqual([false, 2]);
    expect(await ask()).toEqual(everyReader(20, 4));
    age(lake, 2.1);
    expect(removeWithheld(lake, NOW, HOUR)).toEqual({ files: 0, bytes: 0 });
    expect(withheldFiles(lake).size).toBe(0);
    expect(readdirSync(join(lake, 'withheld'))).toEqual(['none.000000.txt']);
    expect(await ask()).toEqual(everyReader(20, 4));
  });

  it('a decode after that brings the rows back under names of its own; what was too old still goes', async () => {
    const lake = filledLake();
    const ask = await readers(lake);
    expireUploads(lake, uploads, { keep: { samples: 50 }, nowMs: NOW });
    expect(await ask()).toEqual(everyReader(10, 4));
    const staged = stageAgain(lake, 'u2', 1);
    await commitStaged(lake, staged);
    expect(await ask()).toEqual(everyReader(20, 4));
    expect(filesOfUpload(lake, 'samples', { vehicleId: 'KV 1', uploadId: 'u2' }).paths).toEqual([
      join(lake, 'samples', 'KV%201', 'u2-0000-r1.parquet'),
    ]);
    age(lake, 1.1);
    removeWithheld(lake, NOW, HOUR);
    expect(existsSync(partFile(lake, 'samples', 'KV 1', 'u2', 0))).toBe(false);
    expect(await ask()).toEqual(everyReader(20, 4));
  });
});

/** Ten samples and one drive, as another decode of the upload finds them. */
function stageAgain(lake: string, uploadId: string, attempt: number): StagedUpload {
  const key = { vehicle_id: 'KV 1', upload_id: uploadId };
  const { lastMs } = uploads.find((upload) => upload.uploadId === uploadId)!;
  const files = (['samples', 'drives'] as const).map((table) => {
    const staging = stagingFile(lake, uploadId, { table, part: 0 }, { attempt, owner: 'test' });
    const rows =
      table === 'samples'
        ? Array.from({ length: 10 }, (_, row) => ({ ...key, row_no: row + 1, time: lastMs - row * 1000 }))
        : [{ ...key, drive_id: `${uploadId}-d1`, started_at: lastMs, seconds: 60 }];
    writeTableFile(staging, table, rows as never);
    return { table, part: 0, staging };
  });
  return { vehicleId: 'KV 1', uploadId, attempt, files };
}
