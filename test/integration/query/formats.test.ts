import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { QUERY_FORMATS, type QueryFormat } from '@tallybay/contracts';
import { tableFromIPC } from 'apache-arrow';
import { parquetReadObjects } from 'hyparquet';
import { compressors } from 'hyparquet-compressors';
import { describe, expect, it } from 'vitest';
import { queryService } from './query-service.js';

const service = queryService();

// Every type that an answer can have, with nulls, a zone and the edges of each range.
const EVERY_TYPE = `SELECT * FROM (VALUES
  (1, 9223372036854775807, 0.1::DOUBLE, 1.5::FLOAT, 'ü, "quoted"', true, DATE '1969-12-31', TIMESTAMPTZ '2026-03-29 02:30:00.123456+02', TIMESTAMP '2026-03-29 02:30:00.5', 2.5::DECIMAL(9, 2), 3::TINYINT),
  (-2147483648, -9223372036854775808, 'NaN'::DOUBLE, '-inf'::FLOAT, '', false, DATE '2400-02-29', TIMESTAMPTZ '1960-01-01 00:00:00.000001+00', TIMESTAMP '1901-01-01', -2.5, -3),
  (NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL))
  t(i, l, d, f, s, b, day, instant, wall, dec, tiny)`;

async function bytesOf(sql: string, format: QueryFormat): Promise<Buffer> {
  const response = await service.post({ sql }, { accept: QUERY_FORMATS[format] });
  expect(response.status).toBe(200);
  expect(response.headers.get('content-type')).toContain(QUERY_FORMATS[format]);
  return Buffer.from(await response.arrayBuffer());
}

describe('formats', () => {
  it('Arrow is read by apache-arrow with equal values and types', async () => {
    const table = tableFromIPC(await bytesOf(EVERY_TYPE, 'arrow'));
    expect(Object.fromEntries(table.schema.fields.map(({ name, type }) => [name, String(type)]))).toEqual({
      ...{ i: 'Int32', l: 'Int64', d: 'Float64', f: 'Float32', s: 'Utf8', b: 'Bool', day: 'Date32<DAY>' },
      ...{ instant: 'Timestamp<MICROSECOND, UTC>', wall: 'Timestamp<MICROSECOND>', dec: 'Float64', tiny: 'Int32' },
    });
    const column = (name: string) => Array.from({ length: table.numRows }, (_, row) => table.getChild(name)!.get(row));
    expect(column('i')).toEqual([1, -2147483648, null]);
    expect(column('l')).toEqual([9223372036854775807n, -9223372036854775808n, null]);
    expect(column('d')).toEqual([0.1, Number.NaN, null]);
    expect(column('f')).toEqual([1.5, Number.NEGATIVE_INFINITY, null]);
    expect(column('s')).toEqual(['ü, "quoted"', '', null]);
    expect(column('b')).toEqual([true, false, null]);
    expect(column('day').map((ms) => (ms === null ? null : new Date(ms).toISOString().slice(0, 10)))).toEqual([
      '1969-12-31',
      '2400-02-29',
      null,
    ]);
    // 02:30 on the night of the change in Berlin, in UTC.
    expect(column('instant')[0]).toBeCloseTo(Date.parse('2026-03-29T00:30:00.123Z') + 0.456, 2);
    expect(column('instant')[2]).toBeNull();
    expect(column('dec')).toEqual([2.5, -2.5, null]);
  });

  it('Parquet is read by DuckDB with equal values and types, and by hyparquet', async () => {
    const bytes = await bytesOf(EVERY_TYPE, 'parquet');
    const file = join(service.api.runtime.config.home, 'answer.parquet');
    writeFileSync(file, bytes);
    const instance = await DuckDBInstance.create(':memory:');
    const connection = await instance.connect();
    await connection.run("SET TimeZone = 'UTC'");
    const read = async (sql: string) => (await connection.runAndReadAll(sql)).getRowsJson();
    // What DuckDB holds itself, of the types that open files share.
    const wanted = await read(
      `SELECT i, l, d, f, s, b, day, instant, wall, dec::DOUBLE, tiny::INTEGER FROM (${EVERY_TYPE})`,
    );
    expect(await read(`SELECT * FROM read_parquet('${file}')`)).toEqual(wanted);
    expect((await read(`SELECT column_type FROM (DESCRIBE FROM read_parquet('${file}'))`)).flat()).toEqual([
      ...[
        'INTEGER',
        'BIGINT',
        'DOUBLE',
        'FLOAT',
        'VARCHAR',
        'BOOLEAN',
        'DATE',
        'TIMESTAMP WITH TIME ZONE',
        'TIMESTAMP',
      ],
      ...['DOUBLE', 'INTEGER'],
    ]);
    connection.closeSync();
    instance.closeSync();
    const buffer = bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length) as ArrayBuffer;
    const objects = await parquetReadObjects({ file: buffer, compressors });
    expect(objects[0]).toMatchObject({ i: 1, l: 9223372036854775807n, d: 0.1, s: 'ü, "quoted"', b: true });
    expect(objects[2]).toMatchObject({ i: null, l: null, d: null, s: null, b: null, instant: null });
  });

  it('CSV tells null from an empty text, JSON says what numbers cannot', async () => {
    const csv = String(await bytesOf(`SELECT i, s, instant FROM (${EVERY_TYPE})`, 'csv'));
    expect(csv.split('\r\n').slice(0, 4)).toEqual([
      'i,s,instant',
      '1,"ü, ""quoted""",2026-03-29T00:30:00.123456Z',
      '-2147483648,"",1960-01-01T00:00:00.000001Z',
      ',,',
    ]);
    expect(await service.rowsOf(`SELECT l, d, f FROM (${EVERY_TYPE})`)).toEqual([
      ['9223372036854775807', 0.1, 1.5],
      ['-9223372036854775808', 'NaN', '-Infinity'],
      [null, null, null],
    ]);
  });

  it('the same rows in all four, over many blocks', async () => {
    const sql =
      'SELECT i, i * 0.5 AS half, CASE WHEN i % 7 = 0 THEN NULL ELSE i::VARCHAR END AS name FROM range(70000) t(i) ORDER BY i';
    const arrow = tableFromIPC(await bytesOf(sql, 'arrow'));
    const csv = String(await bytesOf(sql, 'csv'))
      .trimEnd()
      .split('\r\n');
    const parquet = await bytesOf(sql, 'parquet');
    const buffer = parquet.buffer.slice(parquet.byteOffset, parquet.byteOffset + parquet.length) as ArrayBuffer;
    const objects = await parquetReadObjects({ file: buffer, compressors });
    expect([arrow.numRows, csv.length - 1, objects.length]).toEqual([70_000, 70_000, 70_000]);
    for (const row of [0, 1, 16_383, 16_384, 65_535, 65_536, 69_999]) {
      const name = row % 7 === 0 ? null : String(row);
      expect(arrow.get(row)!.toJSON()).toEqual({ i: BigInt(row), half: row / 2, name });
      expect(objects[row]).toEqual({ i: BigInt(row), half: row / 2, name: name ?? null });
      expect(csv[row + 1]).toBe(`${row},${row / 2},${name ?? ''}`);
    }
  });
});
