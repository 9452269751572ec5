import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeEach, describe, expect, it, onTestFinished } from 'vitest';
import { FakeService } from './fake-service.js';
import { runTallybay, temporaryFolder } from './recorded-terminal.js';

// Own rules: where an answer goes is said before anything is asked, and a file that cannot be written is no fault of ours.

let service: FakeService;
const query = (...args: string[]) => runTallybay(['query', 'SELECT 1', ...args, '--url', service.url]);

beforeEach(async () => {
  service = await FakeService.start();
  onTestFinished(() => service.stop());
  service.routes.set('POST /v1/query', () => ({ status: 200, body: [{ n: 1 }] }));
  service.routes.set('GET /v1/query/', () => ({
    status: 200,
    body: {
      ...{ id: 'q', state: 'done', format: 'json', startedAt: '2026-11-26T00:00:00Z', seconds: 0.1 },
      rows: 1,
      bytes: 9,
      truncated: false,
      problem: null,
    },
  }));
});

describe('tallybay query --out', () => {
  it('takes the format from the end of the name, and asks the service for it', async () => {
    const file = join(temporaryFolder(), 'answer.JSON');
    await query('--out', file);
    expect(JSON.parse(service.posts('/v1/query')[0]?.body.toString() ?? '')).toMatchObject({ format: 'json' });
    expect(JSON.parse(readFileSync(file, 'utf8'))).toEqual([{ n: 1 }]);
  });

  it.each([['answer'], ['answer.csv', '--format', 'table']])(
    'refuses a name that says no format: %s',
    async (...args) => {
      const ran = await query('--out', ...args);
      expect(ran.exitCode).toBe(64);
      expect(ran.notes.join('\n')).toContain('.csv, .arrow, .parquet');
      expect(service.received).toEqual([]);
    },
  );

  it('ends with 73 where the file cannot be written, and says why', async () => {
    const ran = await query('--out', '/nowhere/answer.csv');
    expect(ran.exitCode).toBe(73);
    expect(ran.notes.join('\n')).toContain('/nowhere/answer.csv: its folder does not exist');
  });
});

it('tallybay --version prints the version of the program', async () => {
  const { version } = JSON.parse(readFileSync(join(import.meta.dirname, '../../../../apps/cli/package.json'), 'utf8'));
  expect(await runTallybay(['--version'])).toEqual({ exitCode: 0, out: [version], notes: [] });
});
