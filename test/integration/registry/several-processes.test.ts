import { execFileSync, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openRegistry } from '@tallybay/registry';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const directory = mkdtempSync(join(tmpdir(), 'tallybay-registry-'));
afterAll(() => rmSync(directory, { recursive: true, force: true }));

const root = fileURLToPath(new URL('../../..', import.meta.url));
// The processes run the built package, as in production.
beforeAll(() => {
  execFileSync(process.execPath, [join(root, 'node_modules/typescript/bin/tsc'), '-b', 'libs/registry'], { cwd: root });
});

const PROCESSES = 4;
const WRITES = 40;
const REGISTRY = new URL('../../../libs/registry/dist/index.js', import.meta.url).href;

/** Each process opens the same new file at once, then inserts, contends and counts. */
const PROGRAM = `
  const { openRegistry } = await import(${JSON.stringify(REGISTRY)});
  const [file, me] = process.argv.slice(1);
  const registry = await openRegistry({ kind: 'sqlite', file });
  let won = 0;
  for (let number = 0; number < ${WRITES}; number++) {
    const upload = { id: me + '-' + number, kind: 'log', state: 'landed', bytes: 1, sha256: 'h' + number, receivedAt: new Date().toISOString() };
    if ((await registry.uploads.insertIfAbsent(upload)).inserted) won++;
    await registry.settings.put('counter', number);
  }
  await registry.close();
  console.log(won);
`;

function run(file: string, me: string): Promise<{ code: number | null; output: string }> {
  const child = spawn(process.execPath, ['--input-type=module', '-e', PROGRAM, file, me]);
  let output = '';
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (chunk: Buffer) => (output += chunk.toString()));
  return new Promise((resolve) => child.on('exit', (code) => resolve({ code, output })));
}

describe('several processes on one SQLite file', () => {
  it('start together, insert each content once, and lose no write', async () => {
    const file = join(directory, 'shared.sqlite');
    const runs = await Promise.all(Array.from({ length: PROCESSES }, (_, number) => run(file, `p${number}`)));
    for (const { code, output } of runs) expect(code, output).toBe(0);
    const won = runs.map((one) => Number(one.output));
    expect(won.reduce((sum, one) => sum + one, 0)).toBe(WRITES);
    const registry = await openRegistry({ kind: 'sqlite', file });
    expect(await registry.uploads.countByState()).toEqual({ landed: WRITES });
    expect((await registry.settings.get('counter'))?.version).toBe(PROCESSES * WRITES);
    await registry.close();
  });
});
