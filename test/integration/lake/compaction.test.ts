import { existsSync, readdirSync, utimesSync } from 'node:fs';
import { join } from 'node:path';
import {
  allLivePacks,
  type CompactionOptions,
  checkLake,
  commitStaged,
  compact,
  expirePacks,
  filesOfUpload,
  Lake,
  packFile,
  packOf,
  partFile,
  readyForDecode,
  removeWithheld,
  stageSnapshot,
  TraceReader,
} from '@tallybay/lake';
import { expect, it, onTestFinished } from 'vitest';
import { z } from 'zod';
import { putRows, temporaryLake } from '../../unit/libs/lake/lake-builder.js';
import { openPlainLake } from '../../unit/libs/lake/plain-lake.js';

// Own rule (issue "The analyst's history", upkeep): small files of a week become one, and no row is lost or counted twice by
// anybody at any moment.

const NOW = Date.now();
const DAY = 86_400_000;
const HOUR = 3_600_000;
const options = (more: Partial<CompactionOptions> = {}): CompactionOptions => ({
  ...{ nowMs: NOW, graceMs: HOUR, settleMs: 0, mostPacks: 100, mostMs: 60_000 },
  isSettled: async () => true,
  ...more,
});

/** A Monday at 08:00 UTC, some weeks ago. */
const monday = (weeks: number) => (Math.floor((NOW / DAY - 4) / 7) - weeks) * 7 * DAY + 4 * DAY + 8 * HOUR;

function putUpload(lake: string, upload: string, atMs: number, vehicle = 'KV 1'): void {
  const key = { vehicle, upload };
  const rows = Array.from({ length: 10 }, (_, row) => ({
    ...{ row_no: row + 1, time: atMs + row * 1000, coolant_temp_c: 80 + row },
  }));
  putRows(lake, 'samples', key, rows);
  putRows(lake, 'markers', key, [{ row_no: 1, time: atMs, text: 'it' }]);
  putRows(lake, 'uploads', key, [{ kind: 'log', first_at: atMs, last_at: atMs + 9000, rows: 10 }]);
}

/** Five uploads in a week eight weeks ago, one alone a week later, two in this week, and two of another vehicle. */
function filledLake(): string {
  const lake = temporaryLake();
  for (let n = 0; n < 5; n++) putUpload(lake, `u${n}`, monday(8) + (4 - n) * DAY);
  putUpload(lake, 'alone', monday(7));
  for (const n of [1, 2]) putUpload(lake, `new${n}`, monday(0) + n * HOUR);
  for (const n of [1, 2]) putUpload(lake, `b${n}`, monday(8) + n * HOUR, 'KV-2');
  return lake;
}

const SUMS = `SELECT count(*)::INT AS rows, count(DISTINCT upload_id)::INT AS uploads, sum(coolant_temp_c)::DOUBLE AS sum,
  (SELECT count(*) FROM markers)::INT AS markers FROM samples`;
const sums = z.object({ rows: z.number(), uploads: z.number(), sum: z.number(), markers: z.number() });
const WHOLE = { rows: 100, uploads: 10, sum: 8450, markers: 10 };

async function readers(lake: string) {
  const own = await Lake.open(lake, { threads: 1, tables: ['samples', 'markers', 'uploads'] });
  const plain = await openPlainLake(lake);
  onTestFinished(() => own.close());
  return async () => {
    const both = [(await own.query(SUMS, sums))[0], (await plain.runAndReadAll(SUMS)).getRowObjectsJS()[0]];
    expect(both).toEqual([WHOLE, WHOLE]);
  };
}

/** As if what is withheld had been written so long ago. */
function age(lake: string, hours: number): void {
  const folder = join(lake, 'withheld');
  for (const name of readdirSync(folder)) {
    const seconds = NOW / 1000 - hours * 3600;
    utimesSync(join(folder, name), seconds, seconds);
  }
}

async function packedLake(): Promise<string> {
  const lake = filledLake();
  await compact(lake, options());
  age(lake, 1.1);
  await compact(lake, options());
  return lake;
}

const samplesOf = (lake: string) => readdirSync(join(lake, 'samples', 'KV%201')).sort();

it('packs a week that has been quiet, after a grace, and removes what it stands for after another', async () => {
  const lake = filledLake();
  const check = await readers(lake);
  expect(await compact(lake, options())).toEqual({ packed: 0, files: 0 });
  await check();
  expect(await compact(lake, options())).toEqual({ packed: 0, files: 0 });
  age(lake, 1.1);
  expect(await compact(lake, options())).toEqual({ packed: 2, files: 21 });
  await check();
  const [pack] = allLivePacks(lake).filter(({ vehicleId }) => vehicleId === 'KV 1');
  expect(pack?.uploads).toEqual(['u4', 'u3', 'u2', 'u1', 'u0']);
  expect(samplesOf(lake).length).toBe(9);
  age(lake, 1.1);
  expect(removeWithheld(lake, NOW, HOUR).files).toBe(21);
  await check();
  expect(samplesOf(lake)).toEqual([
    'alone-0000.parquet',
    'new1-0000.parquet',
    'new2-0000.parquet',
    `${pack!.id}.parquet`,
  ]);
  age(lake, 2.1);
  removeWithheld(lake, NOW, HOUR);
  expect(readdirSync(join(lake, 'withheld'))).toEqual(['none.000000.txt']);
  await check();
  expect(await compact(lake, options())).toEqual({ packed: 0, files: 0 });
  expect(readdirSync(join(lake, 'withheld'))).toEqual(['none.000000.txt']);
});

it('a log that comes late lies beside the pack, and goes into the next', async () => {
  const lake = await packedLake();
  putUpload(lake, 'late', monday(8) + 3 * HOUR);
  await compact(lake, options());
  age(lake, 1.1);
  await compact(lake, options());
  const packs = allLivePacks(lake).filter(({ vehicleId }) => vehicleId === 'KV 1');
  expect(packs.map(({ uploads }) => uploads.length)).toEqual([6]);
  const lakeRows = await Lake.open(lake, { threads: 1 });
  const more = [{ rows: 110, uploads: 11, sum: 9295, markers: 11 }];
  expect(await lakeRows.query(SUMS, sums)).toEqual(more);
  // What the first pack stands for is still there, and withheld by that pack.
  expect(await readyForDecode(lake, { vehicleId: 'KV 1', uploadId: 'u1' }, 0)).toBe(true);
  expect(await lakeRows.query(SUMS, sums)).toEqual(more);
  age(lake, 3);
  removeWithheld(lake, NOW, HOUR);
  expect(await lakeRows.query(SUMS, sums)).toEqual(more);
  lakeRows.close();
});

it('an upload that is decoded again meanwhile is not packed, and one that was is taken out of its pack first', async () => {
  const lake = filledLake();
  const check = await readers(lake);
  await compact(lake, options());
  age(lake, 1.1);
  expect(await compact(lake, options({ isSettled: async (ids) => !ids.includes('u1') }))).toMatchObject({ packed: 1 });
  await check();
  expect(packOf(lake, 'KV 1', 'u1')).toBeNull();
  age(lake, 2.1);
  removeWithheld(lake, NOW, HOUR);

  // As it was before its files went, and once they have gone.
  for (const removed of [false, true]) {
    await compact(lake, options());
    age(lake, 1.1);
    await compact(lake, options());
    if (removed) {
      age(lake, 1.1);
      removeWithheld(lake, NOW, HOUR);
      age(lake, 2.1);
      removeWithheld(lake, NOW, HOUR);
    }
    expect(packOf(lake, 'KV 1', 'u1')).not.toBeNull();
    expect(existsSync(partFile(lake, 'samples', 'KV 1', 'u1', 0))).toBe(!removed);
    await check();
    expect(await readyForDecode(lake, { vehicleId: 'KV 1', uploadId: 'u1' }, 0)).toBe(true);
    await check();
    expect(packOf(lake, 'KV 1', 'u3')).toBeNull();
    expect(filesOfUpload(lake, 'samples', { vehicleId: 'KV 1', uploadId: 'u3' })).toMatchObject({ packed: false });
    age(lake, 2.1);
    removeWithheld(lake, NOW, HOUR);
    await check();
  }
});

it('one upload of a pack is read alone', async () => {
  const lake = await packedLake();
  const reader = new TraceReader(lake);
  onTestFinished(() => reader.close());
  const firstMs = monday(8);
  const recording = { vehicle: 'KV 1', upload: 'u4', firstMs, lastMs: firstMs + 9000, rows: 10 };
  const span = { signals: ['coolant_temp_c'] as const, fromMs: firstMs, toMs: firstMs + 9000, points: 100 };
  const found = await reader.read(recording, { ...span });
  expect(found.atMs.length).toBe(10);
  // The next day's, asked for a span that has both.
  const next = { ...recording, upload: 'u3', lastMs: firstMs + DAY + 9000 };
  const other = await reader.read(next, { ...span, toMs: firstMs + DAY + 9000 });
  expect([other.atMs.length, other.atMs[0]]).toEqual([10, firstMs + DAY]);
});

it('an upload that the stream delivers once more is not put beside its pack', async () => {
  const lake = await packedLake();
  const check = await readers(lake);
  const identity = {
    ...{ vehicleId: 'KV 1', uploadId: 'u1' },
    recorderId: null,
    fileName: null,
    catalogueVersion: 'test',
  };
  const staged = stageSnapshot(lake, identity, { version: 1, time: '2026-10-05T08:00:00Z' } as never, 'owner');
  await commitStaged(lake, staged);
  await check();
  expect(staged.files.some(({ staging }) => existsSync(staging))).toBe(false);
});

it('a damaged pack names all its uploads; old packs go by the table', async () => {
  const lake = await packedLake();
  const [pack] = allLivePacks(lake).filter(({ vehicleId }) => vehicleId === 'KV 1');
  const { truncateSync } = await import('node:fs');
  truncateSync(packFile(lake, 'markers', pack!), 40);
  expect((await checkLake(lake)).damaged.map(({ uploadId }) => uploadId)).toEqual(['u4', 'u3', 'u2', 'u1', 'u0']);
  const expired = expirePacks(lake, { samples: 20 }, NOW);
  expect(expired.map(({ uploadId, tables }) => [uploadId, tables]).length).toBe(7);
  const rest = await Lake.open(lake, { threads: 1 });
  expect((await rest.query(SUMS, sums))[0]?.rows).toBe(30);
  rest.close();
});
