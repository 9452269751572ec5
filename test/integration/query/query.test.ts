import { queryAnswerSchema, queryViewsSchema } from '@tallybay/contracts';
import { describe, expect, it } from 'vitest';
import { queryService } from './query-service.js';

const service = queryService();

describe('POST /v1/query', () => {
  it('answers from every view, with the registry joined to the samples', async () => {
    const { views } = queryViewsSchema.parse(await (await fetch(`${service.url}/v1/query/views`)).json());
    await service.rowsOf('SELECT 1', { fresh: true });
    for (const { name, columns } of views) {
      const response = await service.post({ sql: `SELECT * FROM ${name} LIMIT 5` });
      const answer = queryAnswerSchema.parse(await response.json());
      expect(
        answer.columns.map((column) => [column.name, column.type]),
        name,
      ).toEqual(columns.map((column) => [column.name, column.type]));
    }
    const joined = `SELECT v.depot_name, v.route, v.inspection_due, count(*) AS samples, round(max(s.coolant_temp_c)) AS hottest
      FROM samples s JOIN vehicles v USING (vehicle_id) GROUP BY ALL`;
    expect(await service.rowsOf(joined)).toEqual([['North yard', 'North mains round', '2027-01-31', 1200, 112]]);
    expect(await service.rowsOf('SELECT vehicle_id, state, rows FROM uploads')).toEqual([['KV-101', 'stored', 1200]]);
    expect(
      await service.rowsOf("SELECT programme IS NOT NULL, verdict FROM verdicts WHERE vehicle_id = 'KV-101' LIMIT 1"),
    ).toEqual([[true, expect.any(String)]]);
  });

  it('says how much the lake holds, by table and vehicle', async () => {
    const size = (await service.api.call('GET', '/v1/lake')).body;
    expect(size.vehicles).toEqual([
      expect.objectContaining({ vehicle: 'KV-101', uploads: 1, oldestMs: Date.parse('2026-10-05T14:00:00Z') }),
    ]);
    const bytes = size.tables.reduce((sum: number, table: { bytes: number }) => sum + table.bytes, 0);
    expect(size.vehicles[0].bytes).toBe(bytes);
    expect(bytes).toBeGreaterThan(1_000);
    expect((await service.api.call('GET', '/v1/lake.sql?directory=/mnt/elsewhere')).body).toContain(
      "SET VARIABLE lake = '/mnt/elsewhere';",
    );
  });

  it('binds parameters by name and in order, with their types', async () => {
    const sql = 'SELECT $a::VARCHAR, $b + 1, $c, $d IS NULL, typeof($e), typeof($b)';
    const parameters = { a: "it's", b: 41, c: true, d: null, e: 1.5 };
    expect(await service.rowsOf(sql, { parameters })).toEqual([["it's", 42, true, true, 'DOUBLE', 'BIGINT']]);
    expect(await service.rowsOf('SELECT ? || ?', { parameters: ['a', 'b'] })).toEqual([['ab']]);
  });

  it('gives rows as objects, a plan, and where the time went', async () => {
    expect(await service.rowsOf('SELECT 1 AS a, 2 AS a', { shape: 'objects' })).toEqual([{ a: 1, a_2: 2 }]);
    expect(JSON.stringify(await service.rowsOf('SELECT count(*) FROM samples', { explain: 'plan' }))).toContain(
      'READ_PARQUET',
    );
    expect(JSON.stringify(await service.rowsOf('SELECT count(*) FROM samples', { explain: 'analyze' }))).toContain(
      'Total Time',
    );
  });

  it('cuts off at the limit of rows and says so, in the answer, in a trailer and in the status', async () => {
    const response = await service.post({ sql: 'SELECT * FROM range(11)' }, { 'x-tallybay-person': 'modest' });
    const id = response.headers.get('x-tallybay-query');
    expect(await response.json()).toMatchObject({ rowCount: 10, truncated: true });
    expect(await (await fetch(`${service.url}/v1/query/${id}`)).json()).toMatchObject({
      state: 'done',
      rows: 10,
      truncated: true,
    });
    expect(await service.rowsOf('SELECT * FROM range(10)', {}, { 'x-tallybay-person': 'modest' })).toHaveLength(10);
  });

  it('is cancelled by DELETE and by hanging up; the process is gone either way', async () => {
    const endless = 'WITH RECURSIVE t(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM t) SELECT count(*) FROM t';
    const asked = service.post({ sql: endless, id: 'to-be-deleted' });
    await until(async () => (await (await fetch(`${service.url}/v1/query/to-be-deleted`)).json()).state === 'running');
    expect((await fetch(`${service.url}/v1/query/to-be-deleted`, { method: 'DELETE' })).status).toBe(204);
    expect((await asked).status).toBe(499);
    const hangUp = new AbortController();
    const cut = fetch(`${service.url}/v1/query`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify({ sql: endless, id: 'hung-up-on' }),
      signal: hangUp.signal,
    });
    await until(async () => (await (await fetch(`${service.url}/v1/query/hung-up-on`)).json()).state === 'running');
    hangUp.abort();
    await expect(cut).rejects.toThrow();
    await until(async () => (await (await fetch(`${service.url}/v1/query/hung-up-on`)).json()).state === 'cancelled');
    await until(async () => service.api.runtime.queries.counts.running === 0);
  });

  it('streams: a large answer begins before it is computed, and stops when its reader leaves', async () => {
    const response = await service.post({
      sql: "SELECT i, 'row ' || i FROM range(100000000) t(i)",
      format: 'csv',
      id: 'half-read-1',
      maxRows: 1e6,
    });
    const reader = response.body!.getReader();
    expect((await reader.read()).value!.length).toBeGreaterThan(0);
    await reader.cancel();
    await until(async () => (await (await fetch(`${service.url}/v1/query/half-read-1`)).json()).state === 'cancelled');
  });
});

describe('episodes', () => {
  it('cuts episodes when a question names them, of new logs too', async () => {
    const ask = 'SELECT signal, stage, started_at, seconds > 0 AS lasted, worst FROM Episodes ORDER BY started_at';
    const first = await service.rowsOf(ask, { fresh: true });
    expect(first.length).toBeGreaterThan(0);
    await service.storeDrive('u-later', '2026-10-14T14:00:00Z');
    const later = await service.rowsOf(ask, { fresh: true });
    // The same drive nine days later: as many episodes again, and those before stay as they were.
    expect(later.slice(0, first.length)).toEqual(first);
    expect(later).toHaveLength(first.length * 2);
  });
});

async function until(holds: () => Promise<boolean>): Promise<void> {
  for (let turn = 0; turn < 400; turn++) {
    if (await holds()) return;
    await new Promise((resolve) => setTimeout(resolve, 25));
  }
  throw new Error('it did not come to pass within 10 s');
}
