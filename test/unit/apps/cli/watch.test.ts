import { appendFileSync, existsSync, mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { describe, expect, it, onTestFinished } from 'vitest';
import { findQuiet } from '../../../../apps/cli/src/watch/quiet.js';
import { FakeService } from './fake-service.js';
import { runTallybay, temporaryFolder } from './recorded-terminal.js';

const file = (path: string, size: number, mtimeMs = 1) => ({ path, size, mtimeMs, named: false });

describe('a file is quiet', () => {
  it('when it has looked the same for the quiet time, counted from the first sight', () => {
    const first = findQuiet(new Map(), [file('a', 5)], 1000, 100);
    expect(first.quiet).toEqual([]);
    expect(findQuiet(first.sightings, [file('a', 5)], 1099, 100).quiet).toEqual([]);
    expect(findQuiet(first.sightings, [file('a', 5)], 1100, 100).quiet).toHaveLength(1);
  });

  it('not while its size or its time changes, however old its time is', () => {
    const first = findQuiet(new Map(), [file('a', 5)], 1000, 100);
    const grown = findQuiet(first.sightings, [file('a', 6)], 1200, 100);
    expect(grown.quiet).toEqual([]);
    expect(findQuiet(grown.sightings, [file('a', 6, 2)], 1400, 100).quiet).toEqual([]);
  });
});

describe('tallybay watch', () => {
  it('sends each file once it keeps still, leaves it there, and stops on Ctrl-C', async () => {
    const service = await FakeService.start();
    onTestFinished(() => service.stop());
    const folder = temporaryFolder();
    mkdirSync(join(folder, 'in'));
    writeFileSync(join(folder, 'in/first.csv'), 'time,a\n1,2\n');
    const stop = new AbortController();
    const ran = runTallybay(
      ['watch', 'in', '--quiet-seconds', '0.2', '--every-seconds', '0.2', '--vehicle', 'KV-101', '--url', service.url],
      { cwd: folder, env: { TALLYBAY_STATE_DIR: join(folder, 'state') }, signal: stop.signal },
    );
    await until(() => service.posts('/v1/logs').length === 1);
    mkdirSync(join(folder, 'in/card'));
    const growing = join(folder, 'in/card/second.csv');
    for (let part = 0; part < 4; part++) {
      appendFileSync(growing, `${part}\n`);
      await wait(100);
      expect(service.posts('/v1/logs')).toHaveLength(1);
    }
    await until(() => service.posts('/v1/logs').length === 2);
    await wait(600);
    stop.abort();
    expect((await ran).exitCode).toBe(0);
    expect(service.posts('/v1/logs').map((post) => post.body.toString())).toEqual(['time,a\n1,2\n', '0\n1\n2\n3\n']);
    expect(existsSync(growing)).toBe(true);
  });

  it('refuses what is no folder', async () => {
    const folder = temporaryFolder();
    writeFileSync(join(folder, 'x'), '');
    expect(await runTallybay(['watch', join(folder, 'x')])).toMatchObject({ exitCode: 66 });
    expect(await runTallybay(['watch', join(folder, 'nowhere')])).toMatchObject({ exitCode: 66 });
  });
});

async function until(condition: () => boolean): Promise<void> {
  for (let tries = 0; !condition(); tries++) {
    if (tries > 400) throw new Error('it did not happen in 10 s');
    await wait(25);
  }
}
