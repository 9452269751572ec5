import { tableFromIPC } from 'apache-arrow';
import { describe, expect, it } from 'vitest';
import { queryService } from './query-service.js';

const service = queryService();

describe('questions and kept answers', () => {
  const mine = { 'x-tallybay-person': 'Ada' };
  const question = {
    name: 'Hot drives',
    sql: 'SELECT vehicle_id, max(max) AS hottest FROM signal_stats WHERE signal = $signal GROUP BY 1',
    parameters: { signal: 'coolant_temp_c' },
  };

  it('are saved with their owner, run, and their answers read by whoever has the link', async () => {
    const saved = await service.api.call('PUT', '/v1/questions/hot-drives', question, mine);
    expect(saved.body).toMatchObject({ ...question, owner: 'Ada', version: 1 });
    expect(
      (await service.api.call('PUT', '/v1/questions/hot-drives', question, { 'x-tallybay-person': 'Bo' })).body.code,
    ).toBe('edit_conflict');
    const run = await service.api.call('POST', '/v1/questions/hot-drives/run', undefined, {
      'x-tallybay-person': 'Bo',
    });
    expect(run.body).toMatchObject({ question: 'hot-drives', person: 'Bo', rows: 1, problem: null });
    const link = `/v1/query-results/${run.body.id}`;
    expect((await service.api.call('GET', link)).body).toMatchObject({ sql: question.sql, rows: 1 });
    expect((await service.api.call('GET', `${link}/rows?shape=objects`)).body.rows).toEqual([
      { vehicle_id: 'KV-101', hottest: expect.closeTo(112.2, 0) },
    ]);
    expect(
      tableFromIPC(Buffer.from(await (await fetch(`${service.url}${link}/rows?format=arrow`)).arrayBuffer())).numRows,
    ).toBe(1);
    expect((await service.api.call('GET', '/v1/query-results/aaaaaaaaaaaaaaaaaaaaaaaa')).status).toBe(404);
    expect(
      (await service.api.call('DELETE', '/v1/questions/hot-drives', undefined, { 'x-tallybay-person': 'Bo' })).status,
    ).toBe(409);
    expect((await service.api.call('GET', '/v1/questions/hot-drives/results')).body.results).toHaveLength(1);
  });

  it('run by themselves when they are due, once, and keep why they failed', async () => {
    const schedule = { pattern: '30 6 * * 1', timeZone: 'America/Denver' };
    await service.api.call(
      'PUT',
      '/v1/questions/weekly',
      { name: 'Weekly', sql: 'SELECT count(*) FROM drives', schedule },
      mine,
    );
    await service.api.call(
      'PUT',
      '/v1/questions/broken',
      { name: 'Broken', sql: 'SELECT nothing FROM drives', schedule },
      mine,
    );
    const runner = service.api.runtime.questions;
    // 06:30 on a Monday in Denver, which is 12:30 UTC in summer time.
    expect(await runner.runDue(Date.parse('2026-10-05T12:31:10Z'))).toBe(0);
    expect(await runner.runDue(Date.parse('2026-10-05T12:30:20Z'))).toBe(2);
    expect(await runner.runDue(Date.parse('2026-10-05T12:30:40Z'))).toBe(0);
    const results = (id: string) =>
      service.api.call('GET', `/v1/questions/${id}/results`).then(({ body }) => body.results);
    expect(await results('weekly')).toMatchObject([{ rows: 1, person: 'Ada', problem: null }]);
    expect(await results('broken')).toMatchObject([{ problem: expect.stringContaining('nothing') }]);
    const bad = { name: 'x', sql: 'SELECT 1', schedule: { pattern: '* * * *', timeZone: 'Nowhere' } };
    expect((await service.api.call('PUT', '/v1/questions/bad', bad, mine)).body.code).toBe('body_invalid');
  });
});
