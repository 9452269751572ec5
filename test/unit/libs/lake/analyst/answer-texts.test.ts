import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { AnalystSandbox, initLake } from '@tallybay/lake';
import { tableFromIPC } from 'apache-arrow';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

// Texts of an answer are read by their references in DuckDB's vectors, each kind of which must come out as itself.
let lake: string;
let sandbox: AnalystSandbox;

beforeAll(async () => {
  lake = mkdtempSync(join(tmpdir(), 'tallybay-texts-'));
  initLake(lake);
  sandbox = await AnalystSandbox.open({ lake, results: lake, threads: 2, memoryMb: 512 });
});
afterAll(() => rmSync(lake, { recursive: true, force: true }));

async function answer(sql: string, maxRows = 1_000_000) {
  const parts: Uint8Array[] = [];
  for await (const part of sandbox.answer({ sql, format: 'arrow', maxRows }))
    if (part.kind === 'bytes') parts.push(...part.bytes.map((bytes) => bytes.slice()));
  return tableFromIPC(Buffer.concat(parts));
}

describe('texts of an Arrow answer', () => {
  it('are right over many vectors: short, long, empty, null, repeated, of one beginning or in other alphabets', async () => {
    const rows = 50_000;
    const sql = `SELECT CASE i % 7
        WHEN 0 THEN '' WHEN 1 THEN NULL WHEN 2 THEN 'KV-' || (i % 5) WHEN 3 THEN 'upload-of-one-beginning-' || (i % 3)
        WHEN 4 THEN 'Kühlmittel ' || (i % 11) || ' °C' WHEN 5 THEN repeat('🛠', 1 + (i % 400)::INT) ELSE i::VARCHAR END AS text
      FROM range(${rows}) t(i)`;
    const expected = (i: number) =>
      [
        '',
        null,
        `KV-${i % 5}`,
        `upload-of-one-beginning-${i % 3}`,
        `Kühlmittel ${i % 11} °C`,
        '🛠'.repeat(1 + (i % 400)),
        String(i),
      ][i % 7];
    const column = (await answer(sql)).getChild('text')!;
    expect(column.length).toBe(rows);
    for (let i = 0; i < rows; i++)
      if (column.get(i) !== expected(i)) expect([i, column.get(i)]).toEqual([i, expected(i)]);
  });

  it('keep what a part of a longer text is, and numbers whose first null comes late', async () => {
    const sql = `SELECT substr('abcdefghijklmnopqrstuvwxyz0123456789', 1, 13 + (i % 20)::INT) AS part,
        CASE WHEN i <> 9000 THEN i END AS number, CASE WHEN i % 2 = 0 THEN i % 128 END::TINYINT AS small
      FROM range(20000) t(i)`;
    const table = await answer(sql);
    const [part, number, small] = ['part', 'number', 'small'].map((name) => table.getChild(name)!);
    for (let i = 0; i < 20_000; i += 61)
      expect(part!.get(i)).toBe('abcdefghijklmnopqrstuvwxyz0123456789'.slice(0, 13 + (i % 20)));
    expect([number!.get(8_999), number!.get(9_000), number!.get(9_001), number!.nullCount]).toEqual([
      8_999n,
      null,
      9_001n,
      1,
    ]);
    expect([small!.get(6), small!.get(7), small!.nullCount]).toEqual([6, null, 10_000]);
  });

  it('of a cut answer end at the limit, and the next answer comes as ever', async () => {
    expect((await answer("SELECT 'x' || i AS x FROM range(1000000) t(i)", 5_000)).numRows).toBe(5_000);
    expect((await answer('SELECT 1 AS one')).numRows).toBe(1);
  });

  it('are the same as rows of JSON and of CSV', async () => {
    const sql = `SELECT CASE i % 4 WHEN 0 THEN 'upload-of-one-beginning-' || i WHEN 1 THEN NULL WHEN 2 THEN 'Kühl' ELSE '' END AS text
      FROM range(10000) t(i)`;
    const expected = (i: number) => [`upload-of-one-beginning-${i}`, null, 'Kühl', ''][i % 4];
    const written = async (format: 'json' | 'csv') => {
      const parts: Uint8Array[] = [];
      for await (const part of sandbox.answer({ sql, format, maxRows: 1_000_000 }))
        if (part.kind === 'bytes') parts.push(...part.bytes);
      return Buffer.concat(parts).toString('utf8');
    };
    const { rows } = JSON.parse(await written('json')) as { rows: (string | null)[][] };
    const lines = (await written('csv')).split('\r\n').slice(1, -1);
    expect(rows).toEqual(Array.from({ length: 10_000 }, (_, i) => [expected(i)]));
    const cell = (text: string | null | undefined) => (text === null ? '' : text === '' ? '""' : text);
    expect(lines).toEqual(Array.from({ length: 10_000 }, (_, i) => cell(expected(i))));
  });
});
