import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { queryAnswerSchema } from '@tallybay/contracts';
import { isSignalId } from '@tallybay/decode';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { metricsText } from '../../../apps/ingest/src/health/metrics.js';
import { EXAMPLES } from '../../../apps/web/src/pages/query/examples.js';
import { DASHBOARDS } from '../../dashboards/dashboards.js';
import { dashboardTargets, historyTarget, metricTarget, requestOf } from '../../dashboards/targets.js';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';
import { putRows } from '../../unit/libs/lake/lake-builder.js';
import { driveRows, storeLog, writeLog } from '../../unit/libs/lake/store-log.js';

const root = fileURLToPath(new URL('../../..', import.meta.url));
const HOUR_MS = 3_600_000;
const START_MS = Date.parse('2026-10-06T14:00:00Z');
const atEnd: (() => Promise<void> | void)[] = [];
let api: TestApi;

beforeAll(async () => {
  api = await startApi(
    { TALLYBAY_QUERY_PROCESSES: '1' },
    () => START_MS + 6 * 24 * HOUR_MS,
    (work) => atEnd.unshift(work),
  );
  const lake = api.runtime.config.lakeDirectory;
  await api.call('POST', '/v1/fleet', {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
    vehicles: ['KV-101', 'KV-102'].map((id) => ({
      ...{ id, vehicleClass: 'pickup', depot: 'north', modelYear: 2015, fuel: 'gas', inspectionDue: '2026-11-30' },
    })),
  });
  // Cold at first, so that warming up shows; then the climb to 112 °C that driveRows makes.
  const rows = driveRows(START_MS, 40).map((row, index) => ({
    ...row,
    coolantC: Math.min(row.coolantC, 20 + index / 4),
    speedKmh: index % 300 < 60 ? 0 : row.speedKmh,
  }));
  for (const [vehicle, upload] of [
    ['KV-101', 'u1'],
    ['KV-102', 'u2'],
  ] as const)
    await storeLog(lake, { vehicle, upload, text: writeLog(rows, 'iso') });
  // A code that is there, gone, and back again; its first appearance is within a week before the heat.
  for (const [index, codes] of [['P0217'], [], ['P0217']].entries()) {
    const time = START_MS - (72 - 24 * index) * HOUR_MS;
    const at = { vehicle: 'KV-101', upload: `s${index}` };
    putRows(lake, 'snapshots', at, [
      {
        time,
        lamp_on: codes.length > 0,
        ignition: 'spark',
        read_pending: true,
        read_confirmed: true,
        read_permanent: true,
        read_monitors: true,
        code_count: codes.length,
      },
    ]);
    putRows(
      lake,
      'codes',
      at,
      codes.map((code) => ({ time, code, status: 'confirmed', module: 'engine' })),
    );
    putRows(lake, 'monitors', at, [{ time, monitor: 'catalyst', supported: true, complete: index < 2 }]);
  }
  expect((await api.call('POST', '/v1/rankings/2026-W41')).status).toBe(200);
  expect((await api.call('POST', '/v1/query', { sql: 'SELECT 1', fresh: true })).status).toBe(200);
});

afterAll(async () => {
  for (const work of atEnd) await work();
});

const { all, history, metrics } = dashboardTargets(root);

const OF_TYPE = {
  string: (value: unknown) => typeof value === 'string' || typeof value === 'boolean',
  number: (value: unknown) => typeof value === 'number',
  timestamp: (value: unknown) => typeof value === 'string' && !Number.isNaN(Date.parse(value)),
};

describe('dashboards on a live service', () => {
  it('every panel is one or the other', () => {
    expect(history.length + metrics.length).toBe(all.length);
    expect(history.length).toBeGreaterThanOrEqual(13);
  });

  it.each(history)('$name answers with rows and the columns it uses', async ({ target }) => {
    const parsed = historyTarget.parse(target);
    const answer = await api.call('POST', parsed.url, requestOf(parsed, 'KV-101'));
    expect(answer.body.detail).toBeUndefined();
    const { rows } = queryAnswerSchema.parse(answer.body);
    expect(rows.length).toBeGreaterThan(0);
    for (const { selector, type } of parsed.columns) {
      const values = (rows as Record<string, unknown>[]).map((row) => row[selector]);
      expect(
        values.every((value) => value !== undefined),
        selector,
      ).toBe(true);
      expect(
        values.filter((value) => value !== null).every(OF_TYPE[type]),
        `${selector}: ${JSON.stringify(values[0])}`,
      ).toBe(true);
    }
  });

  it('every metric exists', async () => {
    const served = `${(await api.call('GET', '/metrics')).body}${metricsText({ uploads: {}, lag: 0, partitions: [] }, { ready: true, role: 'all', residentBytes: 1 })}`;
    const names = metrics.flatMap(
      ({ target }) => metricTarget.parse(target).expr.match(/\b(tallybay|process)_\w+/g) ?? [],
    );
    expect(names.length).toBeGreaterThanOrEqual(metrics.length);
    for (const name of names) expect(served).toMatch(new RegExp(`^# TYPE ${name} (gauge|counter)$`, 'm'));
    // What has no value yet would be an empty panel: these have one here.
    for (const name of ['tallybay_ranking_age_seconds', 'tallybay_queries_total', 'tallybay_stored_upload_bytes'])
      expect(served).toMatch(new RegExp(`^${name}(\\{[^}]*\\})? \\d`, 'm'));
  });
});

describe('questions that are shown to analysts', () => {
  // A signal that does not exist only makes the answer poorer: rows still come, of the other signals.
  it.each([
    ['the examples', EXAMPLES.map(({ sql }) => sql).join('\n')],
    ['the dashboards', JSON.stringify(DASHBOARDS)],
    ['docs/sql.md', readFileSync(`${root}/docs/sql.md`, 'utf8')],
    ['README.md', readFileSync(`${root}/README.md`, 'utf8')],
  ])('in %s ask for signals of the catalogue', (_where, text) => {
    const asked = [...text.matchAll(/\bsignal\s*(?:=|IN)\s*\(?((?:'\w+'[\s,]*)+)/gi)].flatMap(([, list]) =>
      [...list!.matchAll(/\w+/g)].map(([id]) => id),
    );
    expect(asked.length).toBeGreaterThan(0);
    expect(asked.filter((id) => !isSignalId(id))).toEqual([]);
  });

  it.each(EXAMPLES)('example $id answers with rows', async ({ sql }) => {
    const { body } = await api.call('POST', '/v1/query', { sql });
    expect(body.detail).toBeUndefined();
    expect(queryAnswerSchema.parse(body).rows.length).toBeGreaterThan(0);
  });

  it('every statement in docs/sql.md runs', async () => {
    const blocks = [...readFileSync(`${root}/docs/sql.md`, 'utf8').matchAll(/```sql\n([\s\S]*?)```/g)].map(
      ([, sql]) => sql!,
    );
    expect(blocks.length).toBeGreaterThanOrEqual(5);
    for (const sql of blocks) {
      const parameters = sql.includes('$vehicle') ? { vehicle: 'KV-101' } : undefined;
      const { status, body } = await api.call('POST', '/v1/query', { sql, ...(parameters ? { parameters } : {}) });
      expect([sql, status, body.detail]).toEqual([sql, 200, undefined]);
    }
  });
});
