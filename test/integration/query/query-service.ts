import type { QueryAnswer } from '@tallybay/contracts';
import { queryAnswerSchema } from '@tallybay/contracts';
import { afterAll, beforeAll, expect } from 'vitest';
import { startApi, type TestApi } from '../../unit/apps/api/test-api.js';
import { driveRows, storeLog, writeLog } from '../../unit/libs/lake/store-log.js';

/** A service that answers questions about a lake of one drive; analysts' processes are those of a real one. */
export class QueryService {
  private started: { api: TestApi; url: string } | null = null;
  private readonly atEnd: (() => Promise<void> | void)[] = [];

  get api(): TestApi {
    return this.running.api;
  }
  get url(): string {
    return this.running.url;
  }
  get lake(): string {
    return this.api.runtime.config.lakeDirectory;
  }

  async start(): Promise<void> {
    const environment = { TALLYBAY_QUERY_PROCESSES: '2', TALLYBAY_QUERY_THREADS: '2' };
    const api = await startApi(environment, undefined, (work) => this.atEnd.unshift(work));
    await api.app.listen(0, '127.0.0.1');
    this.started = { api, url: (await api.app.getUrl()).replace('[::1]', '127.0.0.1') };
    await api.call('POST', '/v1/fleet', FLEET);
    await this.storeDrive('u1', '2026-10-05T14:00:00Z');
    await api.call('PUT', '/v1/query/limits', {
      everyone: { rows: 1_000_000, seconds: 20, memoryMb: 1_024, atOnce: 2 },
      people: { hasty: { seconds: 0.6, memoryMb: 512, atOnce: 1 }, modest: { rows: 10 } },
    });
  }

  async stop(): Promise<void> {
    for (const work of this.atEnd) await work();
  }

  /** Twenty minutes of KV-101. */
  async storeDrive(upload: string, from: string): Promise<void> {
    const text = writeLog(driveRows(Date.parse(from), 20), 'iso');
    await storeLog(this.lake, { ...{ vehicle: 'KV-101', upload }, text });
  }

  post(body: unknown, headers: Record<string, string> = {}, path = '/v1/query'): Promise<Response> {
    return fetch(this.url + path, {
      method: 'POST',
      headers: { 'content-type': 'application/json', ...headers },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
  }

  async rowsOf(sql: string, more: object = {}, headers: Record<string, string> = {}): Promise<QueryAnswer['rows']> {
    const response = await this.post({ sql, ...more }, headers);
    const text = await response.text();
    expect(response.status, text).toBe(200);
    return queryAnswerSchema.parse(JSON.parse(text)).rows;
  }

  private get running(): { api: TestApi; url: string } {
    if (!this.started) throw new Error('the service runs only within tests');
    return this.started;
  }
}

/** One service for all tests of a file. */
export function queryService(): QueryService {
  const service = new QueryService();
  beforeAll(() => service.start());
  afterAll(() => service.stop());
  return service;
}

const FLEET = {
  name: 'Kestrel Valley Water District',
  depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
  vehicles: [
    {
      ...{ id: 'KV-101', vehicleClass: 'pickup', depot: 'north', route: 'North mains round' },
      ...{ modelYear: 2019, fuel: 'gas', inspectionDue: '2027-01-31' },
    },
  ],
};
