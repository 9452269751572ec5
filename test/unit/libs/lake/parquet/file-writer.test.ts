import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { type ColumnData, type ColumnRow, ParquetFileWriter } from '@tallybay/lake';
import fc from 'fast-check';
import { parquetReadObjects } from 'hyparquet';
import { compressors } from 'hyparquet-compressors';
import { afterAll, describe, expect, it } from 'vitest';

// Checked against two readers that share no code with the writer or each other: DuckDB and hyparquet.
// The layout itself is Apache Parquet's parquet.thrift and Encodings.md.

const directory = mkdtempSync(join(tmpdir(), 'tallybay-parquet-'));
afterAll(() => rmSync(directory, { recursive: true }));
let files = 0;

interface Group {
  rowCount: number;
  data: ColumnData[];
}

function write(columns: ColumnRow[], groups: Group[], metadata: Record<string, string> = {}): string {
  const parts: Uint8Array[] = [];
  const writer = new ParquetFileWriter(columns, (bytes) => parts.push(Uint8Array.from(bytes)));
  for (const group of groups) writer.writeRowGroup(group.data, group.rowCount);
  const size = writer.close(metadata);
  const bytes = Buffer.concat(parts);
  expect(bytes.length).toBe(size);
  const file = join(directory, `${files++}.parquet`);
  writeFileSync(file, bytes);
  return file;
}

async function duck(sql: string): Promise<Record<string, unknown>[]> {
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  const rows = (await connection.runAndReadAll(sql)).getRowObjectsJS();
  connection.closeSync();
  instance.closeSync();
  return rows;
}

async function hyparquet(file: string): Promise<Record<string, unknown>[]> {
  const { readFileSync } = await import('node:fs');
  const bytes = readFileSync(file);
  const buffer = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length);
  return (await parquetReadObjects({ file: buffer, compressors })) as Record<string, unknown>[];
}

const column = (name: string, type: ColumnRow['type']): ColumnRow => ({ name, type, comment: '' });

/** Reads one column with both readers; NaN and null mean the same: no value. */
async function both(file: string, name: string): Promise<{ duck: unknown[]; hyparquet: unknown[] }> {
  const viaDuck = await duck(`SELECT "${name}" AS v FROM read_parquet('${file}')`);
  const viaHyparquet = await hyparquet(file);
  return { duck: viaDuck.map((row) => row.v ?? null), hyparquet: viaHyparquet.map((row) => row[name] ?? null) };
}

describe('float columns', () => {
  const shapes = {
    'few distinct values': fc.constantFrom(88, 88.5, 89, Number.NaN),
    'one value': fc.constant(21.5),
    nothing: fc.constant(Number.NaN),
    'any float': fc.float({ noNaN: true, noDefaultInfinity: true }),
    'long runs': fc.constantFrom(1, 2),
  };
  for (const [name, values] of Object.entries(shapes)) {
    it(`read back equal: ${name}`, async () => {
      await fc.assert(
        fc.asyncProperty(
          fc.array(fc.tuple(values, fc.integer({ min: 1, max: name === 'long runs' ? 40 : 3 })), {
            minLength: 1,
            maxLength: 120,
          }),
          async (runs) => {
            const flat = Float32Array.from(runs.flatMap(([value, length]) => new Array<number>(length).fill(value)));
            const file = write(
              [column('v', 'float')],
              [{ rowCount: flat.length, data: [{ kind: 'floats', values: flat }] }],
            );
            // -0 and 0 are one value to a reader that compares; their bits are kept apart by the writer.
            const expected = Array.from(flat, (value) => (Number.isNaN(value) ? null : value + 0));
            const read = await both(file, 'v');
            expect(read.duck.map((v) => (v === null ? null : (v as number) + 0))).toEqual(expected);
            expect(read.hyparquet.map((v) => (v === null ? null : (v as number) + 0))).toEqual(expected);
          },
        ),
        { numRuns: 12 },
      );
    });
  }

  it('falls back to plain bytes above the dictionary limit, and keeps nulls', async () => {
    const values = Float32Array.from({ length: 40_000 }, (_, i) => (i % 7 === 0 ? Number.NaN : Math.sqrt(i)));
    const file = write([column('v', 'float')], [{ rowCount: values.length, data: [{ kind: 'floats', values }] }]);
    const expected = Array.from(values, (value) => (Number.isNaN(value) ? null : value));
    const read = await both(file, 'v');
    expect(read.duck).toEqual(expected);
    expect(read.hyparquet).toEqual(expected);
  });
});

describe('integers as deltas', () => {
  it('read back equal, for any step and any size', async () => {
    const step = fc.oneof(fc.constant(1), fc.constant(100_000), fc.integer({ min: -1e9, max: 1e12 }));
    await fc.assert(
      fc.asyncProperty(
        fc.integer({ min: -1e12, max: 1.7e15 }),
        fc.array(step, { maxLength: 400 }),
        async (start, steps) => {
          const values = new Float64Array(steps.length + 1);
          values[0] = start;
          for (const [i, delta] of steps.entries()) values[i + 1] = values[i]! + delta;
          const file = write(
            [column('v', 'int64')],
            [{ rowCount: values.length, data: [{ kind: 'integers', values }] }],
          );
          const expected = Array.from(values, (value) => BigInt(value));
          const read = await both(file, 'v');
          expect(read.duck).toEqual(expected);
          expect(read.hyparquet).toEqual(expected);
        },
      ),
      { numRuns: 40 },
    );
  });
});

describe('the other kinds', () => {
  const columns = [
    column('vehicle', 'string'),
    column('name', 'string'),
    column('n', 'int32'),
    column('big', 'int64'),
    column('d', 'double'),
    column('flag', 'bool'),
    column('at', 'timestamp'),
    column('empty', 'double'),
  ];
  const rows = [
    { name: 'Kühler', n: -5, big: 2 ** 40, d: 1.25, flag: true, at: Date.UTC(2026, 9, 5, 12, 0, 0, 123) },
    { name: null, n: null, big: null, d: null, flag: null, at: null },
    { name: '', n: 7, big: -1, d: -0.5, flag: false, at: Date.UTC(1999, 0, 1) },
  ];
  const list = (key: keyof (typeof rows)[0]): ColumnData => ({ kind: 'list', values: rows.map((row) => row[key]) });
  const group = (): Group => ({
    rowCount: rows.length,
    data: [
      { kind: 'constant', text: 'KV-101' },
      list('name'),
      list('n'),
      list('big'),
      list('d'),
      list('flag'),
      list('at'),
      { kind: 'nulls' },
    ],
  });

  it('round trip through both readers, over several row groups', async () => {
    const file = write(columns, [group(), group()], { made: 'by a test' });
    const expected = [...rows, ...rows].map((row) => ({
      vehicle: 'KV-101',
      ...row,
      big: row.big === null ? null : BigInt(row.big),
      at: row.at === null ? null : new Date(row.at),
      empty: null,
    }));
    expect(await duck(`SELECT * FROM read_parquet('${file}')`)).toEqual(expected);
    expect(await hyparquet(file)).toEqual(expected);
  });

  it('declares instants as UTC-adjusted and carries its metadata', async () => {
    const file = write(columns, [group()], { made: 'by a test' });
    const types = await duck(`DESCRIBE SELECT * FROM read_parquet('${file}')`);
    expect(types.find((row) => row.column_name === 'at')?.column_type).toBe('TIMESTAMP WITH TIME ZONE');
    const metadata = await duck(`SELECT decode(key) AS k, decode(value) AS v FROM parquet_kv_metadata('${file}')`);
    expect(metadata).toContainEqual({ k: 'made', v: 'by a test' });
  });

  it('states minimum, maximum and nulls that a reader can prune by', async () => {
    const file = write(columns, [group()]);
    const statistics = await duck(
      `SELECT path_in_schema AS c, stats_min_value AS lo, stats_max_value AS hi, stats_null_count AS nulls FROM parquet_metadata('${file}')`,
    );
    const of = (name: string) => statistics.find((row) => row.c === name);
    expect(of('vehicle')).toMatchObject({ lo: 'KV-101', hi: 'KV-101', nulls: 0n });
    expect(of('n')).toMatchObject({ lo: '-5', hi: '7', nulls: 1n });
    expect(of('d')).toMatchObject({ lo: '-0.5', hi: '1.25' });
    expect(of('empty')).toMatchObject({ lo: null, hi: null, nulls: 3n });
  });

  it('writes a readable file without any row', async () => {
    const file = write(columns, []);
    expect(await duck(`SELECT count(*) AS n FROM read_parquet('${file}')`)).toEqual([{ n: 0n }]);
    expect(await hyparquet(file)).toEqual([]);
  });
});
