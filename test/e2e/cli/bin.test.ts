import { spawnSync } from 'node:child_process';
import { cpSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Program, root, tallybay, temporaryFolder } from './program.js';

describe('npx tallybay', () => {
  it('is linked and runs', () => {
    const { status, stdout } = spawnSync('npx', ['tallybay', '--help'], { cwd: root, encoding: 'utf8' });
    expect(status).toBe(0);
    expect(stdout).toContain('Usage: tallybay');
  });

  it('keeps its exit codes: usage 64, data 65, no input 66', async () => {
    expect((await tallybay(['--frobnicate'])).exitCode).toBe(64);
    expect((await tallybay(['decode', 'zz', '--service', '03'])).exitCode).toBe(65);
    expect((await tallybay(['inspect', '/nowhere.csv'])).exitCode).toBe(66);
  });

  it('passes a signal on to the program when it had to start a newer Node', async () => {
    // A Node that says it is too old: the program must end with it, not go on behind its back.
    const older = join(temporaryFolder(), 'older.cjs');
    writeFileSync(
      older,
      "if (!process.env.TALLYBAY_OWN_NODE) Object.defineProperty(process.versions, 'node', { value: '20.0.0' });",
    );
    const watch = Program.start(
      'apps/cli/bin/tallybay.js',
      ['watch', temporaryFolder(), '--url', 'http://127.0.0.1:9'],
      {
        env: { NODE_OPTIONS: `--require ${older}` },
      },
    );
    await watch.untilSaid('Watching');
    watch.child.kill('SIGTERM');
    // Its output ends only when the started one has ended too.
    expect((await watch.ended).exitCode).toBe(0);
  });

  it('says what to do when it is not built', () => {
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'cli'));
    cpSync(join(root, 'apps/cli/bin'), join(folder, 'cli/bin'), { recursive: true });
    cpSync(join(root, 'apps/cli/package.json'), join(folder, 'cli/package.json'));
    const ran = spawnSync(process.execPath, [join(folder, 'cli/bin/tallybay.js')], { encoding: 'utf8' });
    expect(ran.status).toBe(70);
    expect(ran.stderr).toContain('npm run build');
  });
});
