import { mkdtemp, readdir, rm, utimes, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { streamParts } from '@tallybay/stream';
import { describe, expect, it, onTestFinished } from 'vitest';

const { GenerationLock, THIS_PROCESS } = streamParts;

// The protocol: the comment at the head of libs/stream/src/spool/generation-lock.ts.

async function lockDirectory(): Promise<string> {
  const directory = await mkdtemp(join(tmpdir(), 'tallybay-lock-'));
  onTestFinished(() => rm(directory, { recursive: true }));
  return directory;
}

/** The highest process number that Linux gives is 4194304 (proc(5), pid_max on 64 bit), so this one is never alive. */
const DEAD_PID = 4_194_305;

describe('a lock between processes', () => {
  it('is held by one of many contenders at a time', async () => {
    const directory = await lockDirectory();
    let holders = 0;
    let turns = 0;
    const contend = async () => {
      const lock = new GenerationLock(directory, 'x');
      for (let done = 0; done < 5; ) {
        if (!(await lock.tryAcquire())) {
          await sleep(1);
          continue;
        }
        expect(++holders).toBe(1);
        await sleep(1);
        turns++;
        holders--;
        done++;
        await lock.release();
      }
    };
    await Promise.all(Array.from({ length: 8 }, contend));
    expect(turns).toBe(40);
    expect(await readdir(directory)).toHaveLength(1);
  });

  it('is taken over by exactly one when its holder has died', async () => {
    const directory = await lockDirectory();
    const dead = { ...THIS_PROCESS, pid: DEAD_PID };
    await writeFile(join(directory, 'x.7'), JSON.stringify(dead));
    const locks = Array.from({ length: 6 }, () => new GenerationLock(directory, 'x'));
    const taken = await Promise.all(locks.map((lock) => lock.tryAcquire()));
    expect(taken.filter(Boolean)).toHaveLength(1);
    expect(await readdir(directory)).toEqual(['x.8']);
    await Promise.all(locks.map((lock) => lock.release()));
  });

  it('is not taken from another process that got the number of a dead one, nor left to it', async () => {
    const directory = await lockDirectory();
    const reused = { ...THIS_PROCESS, startedAt: '1' };
    await writeFile(join(directory, 'x.1'), JSON.stringify(reused));
    const lock = new GenerationLock(directory, 'x');
    // Where the system does not tell start times, the process counts as alive.
    expect(await lock.tryAcquire()).toBe(THIS_PROCESS.startedAt !== '');
    await lock.release();
  });

  it('of a holder in another container is taken only after a silence', async () => {
    const directory = await lockDirectory();
    const path = join(directory, 'x.1');
    await writeFile(path, JSON.stringify({ pid: 1, scope: 'elsewhere', startedAt: '1' }));
    const lock = new GenerationLock(directory, 'x');
    expect(await lock.tryAcquire()).toBe(false);
    const minuteAgo = new Date(Date.now() - 60_000);
    await utimes(path, minuteAgo, minuteAgo);
    expect(await lock.tryAcquire()).toBe(true);
    await lock.release();
  });

  it('released, or left empty by a power cut, is free', async () => {
    const directory = await lockDirectory();
    await writeFile(join(directory, 'x.3'), '');
    const lock = new GenerationLock(directory, 'x');
    expect(await lock.tryAcquire()).toBe(true);
    await lock.release();
  });
});
