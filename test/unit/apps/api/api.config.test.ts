import { join, resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { readApiConfig } from '../../../../apps/api/src/api.config.js';

describe('the configuration of api', () => {
  it('has a default for everything, under ./data', () => {
    const home = resolve('./data');
    expect(readApiConfig({})).toEqual({
      home,
      lakeDirectory: join(home, 'lake'),
      host: '127.0.0.1',
      port: 8080,
      ingestUrl: 'http://127.0.0.1:8081',
      registry: { kind: 'sqlite', file: join(home, 'registry.sqlite') },
      stream: { kind: 'spool', directory: join(home, 'spool'), partitions: 4, deliveryBytes: 2 * 1024 * 1024 },
      schedule: { pattern: '0 5 * * 1', enabled: true },
      mail: null,
      query: {
        ...{ results: join(home, 'query-results'), keepDays: 90 },
        ...{ processes: expect.any(Number), threads: expect.any(Number) },
      },
      logLevel: 'info',
    });
  });

  it('takes what is set; empty counts as not set', () => {
    const config = readApiConfig({
      TALLYBAY_API_PORT: '0',
      TALLYBAY_HOST: '',
      TALLYBAY_INGEST_URL: 'http://ingest:9000/',
      TALLYBAY_DATABASE_URL: 'postgres://kv@db/tallybay',
      TALLYBAY_RANK_ENABLED: 'false',
      TALLYBAY_RANK_SCHEDULE: '30 4 * * 2',
    });
    expect(config).toMatchObject({
      port: 0,
      host: '127.0.0.1',
      ingestUrl: 'http://ingest:9000',
      registry: { kind: 'postgres', url: 'postgres://kv@db/tallybay' },
      schedule: { pattern: '30 4 * * 2', enabled: false },
    });
  });

  it.each([
    ['TALLYBAY_API_PORT', '99999', /at most 65535.*"99999"/],
    ['TALLYBAY_API_PORT', 'http', /port number.*"http"/],
    ['TALLYBAY_INGEST_URL', 'ingest:9000', /http/],
    ['TALLYBAY_RANK_SCHEDULE', 'mondays', /cron pattern.*"mondays"/],
    ['TALLYBAY_RANK_ENABLED', 'yes', /"true"\|"false".*"yes"/],
    ['TALLYBAY_LOG_LEVEL', 'loud', /"loud"/],
  ])('refuses %s=%s and says what it expected', (name, value, message) => {
    const read = () => readApiConfig({ [name]: value });
    expect(read).toThrow(message);
    expect(read).toThrow(new RegExp(`^${name}: `));
    try {
      read();
    } catch (error) {
      // 78 is EX_CONFIG of sysexits.h (from memory).
      expect(error).toMatchObject({ code: 'config_invalid', problem: { exitCode: 78 } });
    }
  });

  it('does not repeat a password', () => {
    expect(() => readApiConfig({ TALLYBAY_DATABASE_URL: 'mysql://kv:secret@db' })).toThrow(/^(?!.*secret).*postgres:/);
  });
});
