import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { fleet } from '../../unit/libs/registry/fleet.suite.js';
import { type TestPostgres, testPostgres } from '../registry/test-postgres.js';

const root = fileURLToPath(new URL('../../..', import.meta.url));
const home = mkdtempSync(join(tmpdir(), 'tallybay-api-'));
afterAll(() => rmSync(home, { recursive: true, force: true }));
beforeAll(() => {
  execFileSync(process.execPath, [join(root, 'node_modules/typescript/bin/tsc'), '-b', 'apps/api'], { cwd: root });
});

function start(environment: Record<string, string>): ChildProcess {
  const child = spawn(process.execPath, [join(root, 'apps/api/dist/main.js')], {
    env: { PATH: process.env.PATH, TALLYBAY_HOME: home, TALLYBAY_API_PORT: '0', ...environment },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  onTestFinished(() => void child.kill('SIGKILL'));
  return child;
}

/** The address that the process logs once it listens. */
async function addressOf(child: ChildProcess): Promise<string> {
  for await (const line of createInterface({ input: child.stdout! })) {
    const entry = JSON.parse(line) as { msg?: string; address?: string };
    if (entry.msg === 'api is listening' && entry.address) return entry.address;
  }
  throw new Error('the process ended before it listened');
}

const exitOf = (child: ChildProcess) =>
  new Promise<{ code: number | null; signal: string | null }>((resolve) =>
    child.once('exit', (code, signal) => resolve({ code, signal })),
  );

describe('the api process', () => {
  it('serves, and ends in order with code 0 on SIGTERM', async () => {
    const child = start({});
    const address = await addressOf(child);
    expect((await fetch(`${address}/health/ready`)).status).toBe(200);
    const created = await fetch(`${address}/v1/fleet`, {
      method: 'POST',
      headers: { 'content-type': 'application/json' },
      body: JSON.stringify(fleet),
    });
    expect(created.status).toBe(200);
    const ended = exitOf(child);
    child.kill('SIGTERM');
    expect(await ended).toEqual({ code: 0, signal: null });

    const again = start({});
    const vehicles = await fetch(`${await addressOf(again)}/v1/vehicles`);
    expect(((await vehicles.json()) as { vehicles: unknown[] }).vehicles).toHaveLength(2);
  });

  it('says which variable is wrong and ends with code 78', async () => {
    const child = start({ TALLYBAY_API_PORT: 'eighty' });
    let errors = '';
    child.stderr!.on('data', (part: Buffer) => (errors += part.toString()));
    expect(await exitOf(child)).toEqual({ code: 78, signal: null });
    expect(errors).toMatch(/^api cannot start: TALLYBAY_API_PORT: .*"eighty"/);
  });

  it('says that its home cannot be written and ends with code 73', async () => {
    // A file where a folder should be: it holds for root as well, whom permissions do not stop.
    const file = join(home, 'a-file');
    writeFileSync(file, '');
    const child = start({ TALLYBAY_HOME: join(file, 'home') });
    expect(await exitOf(child)).toEqual({ code: 73, signal: null });
  });
});

describe('the api process on PostgreSQL', () => {
  let server: TestPostgres;
  beforeAll(async () => {
    server = await testPostgres();
  });
  afterAll(() => server?.stop());

  it('keeps the fleet there', async () => {
    const url = await server.createDatabase();
    const address = await addressOf(start({ TALLYBAY_DATABASE_URL: url }));
    const body = JSON.stringify(fleet);
    const options = { method: 'POST', headers: { 'content-type': 'application/json' }, body };
    expect(await (await fetch(`${address}/v1/fleet`, options)).json()).toMatchObject({ vehicles: { added: 2 } });
    const second = await addressOf(start({ TALLYBAY_DATABASE_URL: url }));
    expect(await (await fetch(`${second}/v1/fleet`, options)).json()).toMatchObject({ vehicles: { unchanged: 2 } });
  });
});
