import { existsSync, readdirSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import {
  AnalystSandbox,
  expireUploads,
  Lake,
  lakeSql,
  letUploadIn,
  partFile,
  readWithheld,
  removeWithheld,
  withheldFiles,
} from '@tallybay/lake';
import { describe, expect, it, onTestFinished } from 'vitest';
import { z } from 'zod';
import { putRows, temporaryLake } from '../lake-builder.js';

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
  const instance = await DuckDBInstance.create(':memory:');
  const plain = await instance.connect();
  await plain.run(lakeSql(lake));
  onTestFinished(() => {
    own.close();
    one.close();
    plain.closeSync();
    instance.closeSync();
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
    const expired = expireUploads(lake, uploads, { samples: 150, drives: 250 }, NOW);
    expect(expired.map(({ uploadId, tables }) => [uploadId, tables])).toEqual([
      ['u2', ['samples']],
      ['u3', ['samples', 'drives']],
    ]);
    expect(await ask()).toEqual(everyReader(20, 3));
    expect(expireUploads(lake, uploads, { samples: 150, drives: 250 }, NOW)).toEqual([]);
  });

  it('keeps for ever what has no limit, and rows exactly as old as the limit', () => {
    const lake = filledLake();
    expect(expireUploads(lake, uploads, {}, NOW)).toEqual([]);
    expect(expireUploads(lake, uploads, { samples: 300, drives: null }, NOW)).toEqual([]);
  });

  it('leaves the files where they are for the grace, removes them after it, and forgets them after two', async () => {
    const lake = filledLake();
    const ask = await readers(lake);
    expireUploads(lake, uploads, { samples: 150 }, NOW);
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

  it('lets the files of an upload in that is decoded again, and does not remove them', async () => {
    const lake = filledLake();
    const ask = await readers(lake);
    expireUploads(lake, uploads, { samples: 50 }, NOW);
    expect(await ask()).toEqual(everyReader(10, 4));
    letUploadIn(lake, 'KV 1', 'u2');
    expect(await ask()).toEqual(everyReader(20, 4));
    age(lake, 1.1);
    expect(removeWithheld(lake, NOW, HOUR)).toMatchObject({ files: 2 });
    expect(existsSync(partFile(lake, 'samples', 'KV 1', 'u2', 0))).toBe(true);
    expect(readWithheld(lake).find(({ id }) => id !== 'none')?.state).toBe(2);
  });
});
