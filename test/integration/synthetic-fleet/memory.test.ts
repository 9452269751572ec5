import { execFile } from 'node:child_process';
import { mkdtemp, readFile, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { promisify } from 'node:util';
import type { Manifest } from '@tallybay/synthetic-fleet';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const run = promisify(execFile);
const ROOT = join(import.meta.dirname, '../../..');
const MAIN = join(ROOT, 'synthetic-fleet/dist/main.js');
/** Peak memory that a process may take, whatever the size of the fleet. */
const LIMIT_MB = 220;

describe('npm run fleet', () => {
  let dir: string;
  beforeAll(async () => {
    await run(process.execPath, [join(ROOT, 'node_modules/typescript/bin/tsc'), '-b', join(ROOT, 'synthetic-fleet')]);
    dir = await mkdtemp(join(tmpdir(), 'fleet-'));
  });
  afterAll(() => rm(dir, { recursive: true, force: true }));

  /** Runs the program under a hook that prints its peak resident memory at exit. */
  async function fleet(name: string, ...args: string[]): Promise<{ peakMb: number; stderr: string; out: string }> {
    const out = join(dir, name);
    const hook = `data:text/javascript,process.on('exit',()=>console.log(process.resourceUsage().maxRSS))`;
    const ran = await run(process.execPath, ['--import', hook, MAIN, '--out', out, ...args]);
    return { peakMb: Number(ran.stdout) / 1024, stderr: ran.stderr, out };
  }

  it('writes more than 150 MB in bounded memory, with progress on stderr', async () => {
    const made = await fleet('large', '--seed', '2', '--vehicles', '6', '--weeks', '2', '--scale', '0.6');
    const { files } = JSON.parse(await readFile(join(made.out, 'manifest.json'), 'utf8')) as Manifest;
    const megabytes = files.reduce((sum, entry) => sum + (entry.kind === 'log' ? entry.bytes : 0), 0) / 1e6;
    expect(megabytes).toBeGreaterThan(150);
    expect(made.peakMb).toBeLessThan(LIMIT_MB);
    expect(made.stderr).toMatch(/files, \d+ MB/);
    for (const entry of files)
      if (entry.kind === 'log') expect((await stat(join(made.out, entry.file))).size, entry.file).toBe(entry.bytes);
  });

  it('says what is wrong with an option and exits with the usage code', async () => {
    const failed = fleet('bad', '--vehicles', '0');
    await expect(failed).rejects.toMatchObject({ code: 64, stderr: expect.stringContaining('vehicles 0 is outside') });
  });
});
