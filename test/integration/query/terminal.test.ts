import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';
import { runTallybay, temporaryFolder } from '../../unit/apps/cli/recorded-terminal.js';
import { driveRows, storeLog, writeLog } from '../../unit/libs/lake/store-log.js';

// The verbs of an analyst at a terminal against a real service, whose lake holds one drive of 20 minutes.
const atEnd: (() => Promise<void> | void)[] = [];
let api: TestApi;
let url: string;
const tallybay = (...args: string[]) => runTallybay([...args, '--url', url]);

beforeAll(async () => {
  api = await startApi({ TALLYBAY_QUERY_PROCESSES: '1' }, undefined, (work) => atEnd.unshift(work));
  await api.app.listen(0, '127.0.0.1');
  url = (await api.app.getUrl()).replace('[::1]', '127.0.0.1');
  await storeLog(api.runtime.config.lakeDirectory, {
    ...{ vehicle: 'KV-101', upload: 'u1' },
    text: writeLog(driveRows(Date.parse('2026-10-05T14:00:00Z'), 20), 'iso'),
  });
});

afterAll(async () => {
  for (const work of atEnd) await work();
});

it('prints an answer as a table, with parameters', async () => {
  const sql = 'SELECT vehicle_id, count(*) AS drives, NULL AS nothing FROM drives WHERE vehicle_id = $id GROUP BY 1';
  const { exitCode, out } = await tallybay('query', sql, '--param', 'id=KV-101');
  expect([exitCode, ...out]).toEqual([
    0,
    'vehicle_id  drives  nothing',
    '----------  ------  -------',
    'KV-101           1        -',
    '',
    '1 row',
  ]);
});

it('says that a table is cut off, and shows a plan', async () => {
  const cut = await tallybay('query', 'SELECT row_no FROM samples', '--max-rows', '3');
  expect(cut).toMatchObject({ exitCode: 0, notes: [expect.stringContaining('Only the first 3 rows')] });
  const plan = await tallybay('query', 'SELECT count(*) FROM samples', '--explain');
  expect(plan.exitCode).toBe(0);
  expect(plan.out.join('\n')).toMatch(/READ_PARQUET|PARQUET_SCAN/i);
});

it.each(['csv', 'arrow', 'parquet', 'json'])('writes %s into a file', async (format) => {
  const file = join(temporaryFolder(), `answer.${format}`);
  const ran = await tallybay('query', 'SELECT row_no, time FROM samples', '--format', format, '--out', file);
  const bytes = readFileSync(file);
  const rows = (await api.call('POST', '/v1/query', { sql: 'SELECT count(*) FROM samples' })).body.rows[0][0];
  expect(ran).toMatchObject({ exitCode: 0 });
  expect(ran.out[0]).toBe(`${file}: ${rows.toLocaleString('en')} rows, ${(bytes.length / 1000).toFixed(1)} kB`);
});

it.each([
  ['another statement than SELECT', 'DROP TABLE samples', 65],
  ['a column that is not there', 'SELECT warp FROM drives', 65],
])('refuses %s with the reason and an exit code', async (_what, sql, code) => {
  const { exitCode, notes } = await tallybay('query', sql);
  expect(exitCode).toBe(code);
  expect(notes.join('\n')).toContain('what to do:');
});

it('says how much the lake holds', async () => {
  const { exitCode, out } = await tallybay('lake');
  expect(exitCode).toBe(0);
  expect(out.find((line) => line.startsWith('samples'))).toMatch(/^samples +1 /);
  expect(out.find((line) => line.startsWith('KV-101'))).toMatch(/2026-10-05 +2026-10-05$/);
});

it('gives the file that opens the lake in plain DuckDB', async () => {
  const { exitCode, out } = await tallybay('lake-sql');
  expect(exitCode).toBe(0);
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  try {
    await connection.run(out.join('\n'));
    const found = await connection.runAndReadAll('SELECT vehicle_id FROM drives');
    expect(found.getRows()).toEqual([['KV-101']]);
  } finally {
    connection.closeSync();
    instance.closeSync();
  }
});
