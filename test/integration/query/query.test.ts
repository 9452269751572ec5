import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import {
  QUERY_FORMATS,
  type QueryAnswer,
  type QueryFormat,
  queryAnswerSchema,
  queryViewsSchema,
} from '@tallybay/contracts';
import { tableFromIPC } from 'apache-arrow';
import { parquetReadObjects } from 'hyparquet';
import { compressors } from 'hyparquet-compressors';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';
import { driveRows, storeLog, writeLog } from '../../unit/libs/lake/store-log.js';
import { fingerprint } from './fingerprint.js';
import { hostileInputs, hostileStatements } from './hostile.js';

// One service for the file; analysts' processes are those of a real service, the lake holds one real drive.
const atEnd: (() => Promise<void> | void)[] = [];
let api: TestApi;
let url: string;
let lake: string;

beforeAll(async () => {
  const environment = { TALLYBAY_QUERY_PROCESSES: '2', TALLYBAY_QUERY_THREADS: '2' };
  api = await startApi(environment, undefined, (work) => atEnd.unshift(work));
  await api.app.listen(0, '127.0.0.1');
  url = (await api.app.getUrl()).replace('[::1]', '127.0.0.1');
  lake = api.runtime.config.lakeDirectory;
  await api.call('POST', '/v1/fleet', {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
    vehicles: [
      {
        id: 'KV-101',
        vehicleClass: 'pickup',
        depot: 'north',
        route: 'North mains round',
        modelYear: 2019,
        fuel: 'gas',
        inspectionDue: '2027-01-31',
      },
    ],
  });
  await storeLog(lake, {
    ...{ vehicle: 'KV-101', upload: 'u1' },
    text: writeLog(driveRows(Date.parse('2026-10-05T14:00:00Z'), 20), 'iso'),
  });
  await api.call('PUT', '/v1/query/limits', {
    everyone: { rows: 1_000_000, seconds: 20, memoryMb: 1_024, atOnce: 2 },
    people: { hasty: { seconds: 0.6, memoryMb: 512, atOnce: 1 }, modest: { rows: 10 } },
  });
});

afterAll(async () => {
  for (const work of atEnd) await work();
});

async function post(body: unknown, headers: Record<string, string> = {}, path = '/v1/query'): Promise<Response> {
  return fetch(url + path, {
    method: 'POST',
    headers: { 'content-type': 'application/json', ...headers },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
}

async function rowsOf(
  sql: string,
  more: object = {},
  headers: Record<string, string> = {},
): Promise<QueryAnswer['rows']> {
  const response = await post({ sql, ...more }, headers);
  const text = await response.text();
  expect(response.status, text).toBe(200);
  return queryAnswerSchema.parse(JSON.parse(text)).rows;
}

describe('POST /v1/query', () => {
  it('answers from every view, with the registry joined to the samples', async () => {
    const { views } = queryViewsSchema.parse(await (await fetch(`${url}/v1/query/views`)).json());
    await rowsOf('SELECT 1', { fresh: true });
    for (const { name, columns } of views) {
      const response = await post({ sql: `SELECT * FROM ${name} LIMIT 5` });
      const answer = queryAnswerSchema.parse(await response.json());
      expect(
        answer.columns.map((column) => [column.name, column.type]),
        name,
      ).toEqual(columns.map((column) => [column.name, column.type]));
    }
    const joined = `SELECT v.depot_name, v.route, v.inspection_due, count(*) AS samples, round(max(s.coolant_temp_c)) AS hottest
      FROM samples s JOIN vehicles v USING (vehicle_id) GROUP BY ALL`;
    expect(await rowsOf(joined)).toEqual([['North yard', 'North mains round', '2027-01-31', 1200, 112]]);
    expect(await rowsOf('SELECT vehicle_id, state, rows FROM uploads')).toEqual([['KV-101', 'stored', 1200]]);
    expect(
      await rowsOf("SELECT programme IS NOT NULL, verdict FROM verdicts WHERE vehicle_id = 'KV-101' LIMIT 1"),
    ).toEqual([[true, expect.any(String)]]);
  });

  it('says how much the lake holds, by table and vehicle', async () => {
    const size = (await api.call('GET', '/v1/lake')).body;
    expect(size.vehicles).toEqual([
      expect.objectContaining({ vehicle: 'KV-101', uploads: 1, oldestMs: Date.parse('2026-10-05T14:00:00Z') }),
    ]);
    const bytes = size.tables.reduce((sum: number, table: { bytes: number }) => sum + table.bytes, 0);
    expect(size.vehicles[0].bytes).toBe(bytes);
    expect(bytes).toBeGreaterThan(1_000);
    expect((await api.call('GET', '/v1/lake.sql?directory=/mnt/elsewhere')).body).toContain(
      "SET VARIABLE lake = '/mnt/elsewhere';",
    );
  });

  it('binds parameters by name and in order, with their types', async () => {
    const sql = 'SELECT $a::VARCHAR, $b + 1, $c, $d IS NULL, typeof($e), typeof($b)';
    const parameters = { a: "it's", b: 41, c: true, d: null, e: 1.5 };
    expect(await rowsOf(sql, { parameters })).toEqual([["it's", 42, true, true, 'DOUBLE', 'BIGINT']]);
    expect(await rowsOf('SELECT ? || ?', { parameters: ['a', 'b'] })).toEqual([['ab']]);
  });

  it('gives rows as objects, a plan, and where the time went', async () => {
    expect(await rowsOf('SELECT 1 AS a, 2 AS a', { shape: 'objects' })).toEqual([{ a: 1, a_2: 2 }]);
    expect(JSON.stringify(await rowsOf('SELECT count(*) FROM samples', { explain: 'plan' }))).toContain('READ_PARQUET');
    expect(JSON.stringify(await rowsOf('SELECT count(*) FROM samples', { explain: 'analyze' }))).toContain(
      'Total Time',
    );
  });

  it('cuts off at the limit of rows and says so, in the answer, in a trailer and in the status', async () => {
    const response = await post({ sql: 'SELECT * FROM range(11)' }, { 'x-tallybay-person': 'modest' });
    const id = response.headers.get('x-tallybay-query');
    expect(await response.json()).toMatchObject({ rowCount: 10, truncated: true });
    expect(await (await fetch(`${url}/v1/query/${id}`)).json()).toMatchObject({
      state: 'done',
      rows: 10,
      truncated: true,
    });
    expect(await rowsOf('SELECT * FROM range(10)', {}, { 'x-tallybay-person': 'modest' })).toHaveLength(10);
  });

  it('is cancelled by DELETE and by hanging up; the process is gone either way', async () => {
    const endless = 'WITH RECURSIVE t(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM t) SELECT count(*) FROM t';
    const asked = post({ sql: endless, id: 'to-be-deleted' });
    await until(async () => (await (await fetch(`${url}/v1/query/to-be-deleted`)).json()).state === 'running');
    expect((await fetch(`${url}/v1/query/to-be-deleted`, { method: 'DELETE' })).status).toBe(204);
    expect((await asked).status).toBe(499);
    const hangUp = new AbortController();
    const cut = fetch(`${url}/v1/query`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ sql: endless, id: 'hung-up-on' }),
      signal: hangUp.signal,
    });
    await until(async () => (await (await fetch(`${url}/v1/query/hung-up-on`)).json()).state === 'running');
    hangUp.abort();
    await expect(cut).rejects.toThrow();
    await until(async () => (await (await fetch(`${url}/v1/query/hung-up-on`)).json()).state === 'cancelled');
    await until(async () => api.runtime.queries.counts.running === 0);
  });

  it('streams: a large answer begins before it is computed, and stops when its reader leaves', async () => {
    const response = await post({
      sql: "SELECT i, 'row ' || i FROM range(100000000) t(i)",
      format: 'csv',
      id: 'half-read-1',
      maxRows: 1e6,
    });
    const reader = response.body!.getReader();
    expect((await reader.read()).value!.length).toBeGreaterThan(0);
    await reader.cancel();
    await until(async () => (await (await fetch(`${url}/v1/query/half-read-1`)).json()).state === 'cancelled');
  });
});

async function until(holds: () => Promise<boolean>): Promise<void> {
  for (let turn = 0; turn < 400; turn++) {
    if (await holds()) return;
    await new Promise((resolve) => setTimeout(resolve, 25));
  }
  throw new Error('it did not come to pass within 10 s');
}

// Every type that an answer can have, with nulls, a zone and the edges of each range.
const EVERY_TYPE = `SELECT * FROM (VALUES
  (1, 9223372036854775807, 0.1::DOUBLE, 1.5::FLOAT, 'ü, "quoted"', true, DATE '1969-12-31', TIMESTAMPTZ '2026-03-29 02:30:00.123456+02', TIMESTAMP '2026-03-29 02:30:00.5', 2.5::DECIMAL(9, 2), 3::TINYINT),
  (-2147483648, -9223372036854775808, 'NaN'::DOUBLE, '-inf'::FLOAT, '', false, DATE '2400-02-29', TIMESTAMPTZ '1960-01-01 00:00:00.000001+00', TIMESTAMP '1901-01-01', -2.5, -3),
  (NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL))
  t(i, l, d, f, s, b, day, instant, wall, dec, tiny)`;

async function bytesOf(sql: string, format: QueryFormat): Promise<Buffer> {
  const response = await post({ sql }, { accept: QUERY_FORMATS[format] });
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
    const file = join(api.runtime.config.home, 'answer.parquet');
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
    expect(await rowsOf(`SELECT l, d, f FROM (${EVERY_TYPE})`)).toEqual([
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

describe('walls', () => {
  it('refuses or contains every hostile statement, harms nothing, and answers others meanwhile', {
    timeout: 300_000,
  }, async () => {
    const outside = join(api.runtime.config.home, 'outside.csv');
    writeFileSync(outside, 'classified-7431\n1\n');
    mkdirSync(join(lake, 'rankings'), { recursive: true });
    writeFileSync(join(lake, 'rankings', 'x.json'), '[]');
    // The first question of all writes the registry's tables for analysts; after it nothing may change.
    await rowsOf('SELECT 1');
    const before = fingerprint(lake);
    const statements = hostileStatements(lake, outside);
    expect(statements.length).toBeGreaterThanOrEqual(60);
    let open = true;
    const answered: number[] = [];
    const others = (async () => {
      while (open) {
        const startedMs = performance.now();
        expect(
          await rowsOf(
            "SELECT count(*) FROM samples WHERE vehicle_id = 'KV-101'",
            {},
            { 'x-tallybay-person': 'patient' },
          ),
        ).toEqual([[1200]]);
        answered.push(performance.now() - startedMs);
      }
    })();
    for (const { what, sql, expect: wanted } of statements) {
      const response = await post({ sql }, { 'x-tallybay-person': 'hasty' });
      const text = await response.text();
      expect(text, what).not.toContain('classified-7431');
      if (wanted === 'refused') {
        const { code } = JSON.parse(text);
        expect([what, code]).toEqual([what, expect.stringMatching(/^(query_refused|query_invalid|body_invalid)$/)]);
      } else if (response.status !== 200)
        expect([what, JSON.parse(text).code]).toEqual([what, expect.stringMatching(/^query_(limit|invalid)$/)]);
    }
    open = false;
    await others;
    expect(answered.length).toBeGreaterThan(10);
    expect(fingerprint(lake)).toEqual(before);
  });

  it('refuses inputs that are no questions', async () => {
    for (const { what, body, headers, status } of hostileInputs)
      expect([what, (await post(body, headers)).status]).toEqual([what, status]);
  });
});

describe('questions and kept answers', () => {
  const mine = { 'x-tallybay-person': 'Ada' };
  const question = {
    name: 'Hot drives',
    sql: 'SELECT vehicle_id, max(max) AS hottest FROM signal_stats WHERE signal = $signal GROUP BY 1',
    parameters: { signal: 'coolant_temp_c' },
  };

  it('are saved with their owner, run, and their answers read by whoever has the link', async () => {
    const saved = await api.call('PUT', '/v1/questions/hot-drives', question, mine);
    expect(saved.body).toMatchObject({ ...question, owner: 'Ada', version: 1 });
    expect((await api.call('PUT', '/v1/questions/hot-drives', question, { 'x-tallybay-person': 'Bo' })).body.code).toBe(
      'edit_conflict',
    );
    const run = await api.call('POST', '/v1/questions/hot-drives/run', undefined, { 'x-tallybay-person': 'Bo' });
    expect(run.body).toMatchObject({ question: 'hot-drives', person: 'Bo', rows: 1, problem: null });
    const link = `/v1/query-results/${run.body.id}`;
    expect((await api.call('GET', link)).body).toMatchObject({ sql: question.sql, rows: 1 });
    expect((await api.call('GET', `${link}/rows?shape=objects`)).body.rows).toEqual([
      { vehicle_id: 'KV-101', hottest: expect.closeTo(112.2, 0) },
    ]);
    expect(
      tableFromIPC(Buffer.from(await (await fetch(`${url}${link}/rows?format=arrow`)).arrayBuffer())).numRows,
    ).toBe(1);
    expect((await api.call('GET', '/v1/query-results/aaaaaaaaaaaaaaaaaaaaaaaa')).status).toBe(404);
    expect(
      (await api.call('DELETE', '/v1/questions/hot-drives', undefined, { 'x-tallybay-person': 'Bo' })).status,
    ).toBe(409);
    expect((await api.call('GET', '/v1/questions/hot-drives/results')).body.results).toHaveLength(1);
  });

  it('run by themselves when they are due, once, and keep why they failed', async () => {
    const schedule = { pattern: '30 6 * * 1', timeZone: 'America/Denver' };
    await api.call(
      'PUT',
      '/v1/questions/weekly',
      { name: 'Weekly', sql: 'SELECT count(*) FROM drives', schedule },
      mine,
    );
    await api.call(
      'PUT',
      '/v1/questions/broken',
      { name: 'Broken', sql: 'SELECT nothing FROM drives', schedule },
      mine,
    );
    const runner = api.runtime.questions;
    // 06:30 on a Monday in Denver, which is 12:30 UTC in summer time.
    expect(await runner.runDue(Date.parse('2026-10-05T12:31:10Z'))).toBe(0);
    expect(await runner.runDue(Date.parse('2026-10-05T12:30:20Z'))).toBe(2);
    expect(await runner.runDue(Date.parse('2026-10-05T12:30:40Z'))).toBe(0);
    const results = (id: string) => api.call('GET', `/v1/questions/${id}/results`).then(({ body }) => body.results);
    expect(await results('weekly')).toMatchObject([{ rows: 1, person: 'Ada', problem: null }]);
    expect(await results('broken')).toMatchObject([{ problem: expect.stringContaining('nothing') }]);
    const bad = { name: 'x', sql: 'SELECT 1', schedule: { pattern: '* * * *', timeZone: 'Nowhere' } };
    expect((await api.call('PUT', '/v1/questions/bad', bad, mine)).body.code).toBe('body_invalid');
  });
});

describe('episodes', () => {
  it('cuts episodes when a question names them, of new logs too', async () => {
    const ask = 'SELECT signal, stage, started_at, seconds > 0 AS lasted, worst FROM Episodes ORDER BY started_at';
    const first = await rowsOf(ask, { fresh: true });
    expect(first.length).toBeGreaterThan(0);
    await storeLog(lake, {
      ...{ vehicle: 'KV-101', upload: 'u-later' },
      text: writeLog(driveRows(Date.parse('2026-10-14T14:00:00Z'), 20), 'iso'),
    });
    const later = await rowsOf(ask, { fresh: true });
    // The same drive nine days later: as many episodes again, and those before stay as they were.
    expect(later.slice(0, first.length)).toEqual(first);
    expect(later).toHaveLength(first.length * 2);
  });
});
