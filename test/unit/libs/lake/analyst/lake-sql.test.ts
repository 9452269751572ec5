import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type DuckDBConnection, DuckDBInstance } from '@duckdb/node-api';
import { ANALYST_VIEWS, columnComment, initLake, writeReference } from '@tallybay/lake';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

// lake.sql as the plain DuckDB command line reads it: one script, statement after statement.
const home = mkdtempSync(join(tmpdir(), 'tallybay-lake-sql-'));
const lake = join(home, "it's a lake");
let instance: DuckDBInstance;
let connection: DuckDBConnection;

beforeAll(async () => {
  initLake(lake);
  writeReference(lake, 'vehicles', [
    {
      ...{ vehicle_id: 'KV-101', name: null, vin: null, vehicle_class: 'service_pickup', depot: 'northgate' },
      ...{
        depot_name: 'Northgate',
        route: 'North mains round',
        time_zone: 'America/Denver',
        model_year: 2019,
        fuel: 'diesel',
        inspection_due: 20_758,
      },
    },
  ]);
  instance = await DuckDBInstance.create(':memory:');
  connection = await instance.connect();
  await connection.run(readFileSync(join(lake, 'lake.sql'), 'utf8'));
});

afterAll(() => {
  connection.closeSync();
  instance.closeSync();
  rmSync(home, { recursive: true });
});

const rowsOf = async (sql: string) => (await connection.runAndReadAll(sql)).getRowObjectsJson();

describe('lake.sql', () => {
  it('opens every view, and describes every column by meaning, unit and source', async () => {
    const found = await rowsOf(
      'SELECT table_name, column_name, comment FROM duckdb_columns() WHERE NOT internal ORDER BY table_name, column_index',
    );
    const wanted = ANALYST_VIEWS.flatMap((view) =>
      view.columns.map((column) => ({
        table_name: view.name,
        column_name: column.name,
        comment: columnComment(column),
      })),
    );
    expect(found.length).toBe(wanted.length);
    expect(new Set(found.map((row) => JSON.stringify(row)))).toEqual(new Set(wanted.map((row) => JSON.stringify(row))));
    for (const view of ANALYST_VIEWS)
      for (const { meaning, source, unit, name } of view.columns) {
        expect(meaning.length, `${view.name}.${name}`).toBeGreaterThan(3);
        expect(source.length, `${view.name}.${name}`).toBeGreaterThan(3);
        // A figure in the name's unit says so.
        if (/_(km|kmh|pct|rpm|c)$/.test(name)) expect(unit, `${view.name}.${name}`).not.toBeNull();
      }
  });

  it('gives the columns the types that the documentation names', async () => {
    const duckType: Record<string, string> = {
      ...{ string: 'VARCHAR', int64: 'BIGINT', int32: 'INTEGER', double: 'DOUBLE', float: 'FLOAT', bool: 'BOOLEAN' },
      ...{ timestamp: 'TIMESTAMP WITH TIME ZONE', date: 'DATE' },
    };
    for (const view of ANALYST_VIEWS) {
      const found = await rowsOf(`DESCRIBE ${view.name}`);
      expect(Object.fromEntries(found.map((row) => [row.column_name, row.column_type])), view.name).toEqual(
        Object.fromEntries(view.columns.map((column) => [column.name, duckType[column.type]])),
      );
    }
  });

  it('answers from the files, also in a folder whose name has a quote in it', async () => {
    expect(await rowsOf('SELECT vehicle_id, inspection_due::VARCHAR AS due FROM vehicles')).toEqual([
      { vehicle_id: 'KV-101', due: '2026-11-01' },
    ]);
    for (const view of ANALYST_VIEWS.filter(({ name }) => name !== 'vehicles'))
      expect(await rowsOf(`SELECT count(*)::INTEGER AS rows FROM ${view.name}`), view.name).toEqual([{ rows: 0 }]);
  });

  it('leaves a reference table alone that says the same', () => {
    expect(writeReference(lake, 'verdicts', [])).toBe(false);
  });
});

it('leaves no view out of the page about SQL', () => {
  const page = readFileSync(new URL('../../../../../docs/sql.md', import.meta.url), 'utf8');
  const table = page.split('\n').filter((line) => line.startsWith('| `'));
  const named = new Set(table.flatMap((line) => [...line.split('|')[1]!.matchAll(/`(\w+)`/g)].map(([, name]) => name)));
  expect(ANALYST_VIEWS.map(({ name }) => name).filter((name) => !named.has(name))).toEqual([]);
});
