import { readdirSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import { TraceReader } from '@tallybay/lake';
import { expect, it, onTestFinished } from 'vitest';
import { putRows, temporaryLake } from '../lake-builder.js';

const START_MS = Date.UTC(2026, 8, 7, 14);
const ROWS = 20_000;
const SPIKE_ROW = 7001;
const KEY = { vehicle: 'V', upload: 'u', firstMs: START_MS, lastMs: START_MS + (ROWS - 1) * 100 };
/** Said to be long, so that its columns are kept as files. */
const LONG = { ...KEY, rows: 200_000 };
const ASK = { fromMs: KEY.firstMs, toMs: KEY.lastMs, points: 300 };

function put(lake: string, spike: number): void {
  const rows = Array.from({ length: ROWS }, (_, row) => ({
    ...{ row_no: row + 1, time: START_MS + row * 100, coolant_temp_c: 80 + (row % 9) },
    engine_load_pct: row === SPIKE_ROW ? spike : row % 3 ? null : 20,
  }));
  putRows(lake, 'samples', KEY, rows);
}

/** What a process that has just been started answers. */
async function fresh(lake: string, signals: ('engine_load_pct' | 'coolant_temp_c')[]) {
  const reader = new TraceReader(lake);
  try {
    const rows = await reader.read(LONG, { ...ASK, signals });
    if (rows.full) throw new Error('columns were expected, not rows');
    const highest = Math.max(...rows.columns[0]!.max.filter((value) => !Number.isNaN(value)));
    return { rows, highest };
  } finally {
    reader.close();
  }
}

it('columns of a long recording are read from files by the next process, and come out the same', async () => {
  const lake = temporaryLake();
  put(lake, 99);
  const first = await fresh(lake, ['engine_load_pct']);
  expect(first.highest).toBe(99);
  const kept = join(lake, '.overviews', 'u');
  expect(readdirSync(kept).sort()).toEqual(['engine_load_pct.columns', 'rows.columns']);
  expect((await fresh(lake, ['engine_load_pct'])).rows).toEqual(first.rows);
  // Another signal joins those that are there.
  const both = await fresh(lake, ['engine_load_pct', 'coolant_temp_c']);
  expect(readdirSync(kept)).toHaveLength(3);
  expect(both.rows.full ? [] : both.rows.columns[0]).toEqual(first.rows.columns[0]);
});

it('a damaged file counts as none, and a file of other samples is not believed', async () => {
  const lake = temporaryLake();
  put(lake, 99);
  const first = await fresh(lake, ['engine_load_pct']);
  const kept = join(lake, '.overviews', 'u');
  for (const [name, bytes] of [
    ['engine_load_pct.columns', 100],
    ['rows.columns', 3],
  ] as const) {
    truncateSync(join(kept, name), bytes);
    expect((await fresh(lake, ['engine_load_pct'])).rows).toEqual(first.rows);
  }
  put(lake, 77);
  expect((await fresh(lake, ['engine_load_pct'])).highest).toBe(77);
});

it('short recordings leave no files, and what was prepared is there when it is asked for', async () => {
  const lake = temporaryLake();
  put(lake, 99);
  const reader = new TraceReader(lake);
  onTestFinished(() => reader.close());
  await reader.read({ ...KEY, rows: ROWS }, { ...ASK, signals: ['engine_load_pct'] });
  expect(readdirSync(lake)).not.toContain('.overviews');
  reader.prepare(LONG, ['coolant_temp_c']);
  await reader.read(LONG, { ...ASK, signals: ['coolant_temp_c'] });
  expect(readdirSync(join(lake, '.overviews', 'u')).sort()).toEqual(['coolant_temp_c.columns', 'rows.columns']);
});
