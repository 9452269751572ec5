import { execFileSync } from 'node:child_process';
import { randomInt } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, statSync, symlinkSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import type { DeadLetterList, DecodeAgainResult, LakeCheck } from '@tallybay/contracts';
import type { SentLog } from './load.js';
import { ended, get, type PathProcess, postJson } from './path.js';
import type { Report } from './report.js';
import { eventually, type ScenarioOptions, type Scene, scene, withBroker } from './scenarios.js';

const DISK_MEGABYTES = 256;

/** A real file system of so many megabytes. Mounting needs root. @returns where it is, and what takes it away */
export function smallDisk(megabytes: number): { directory: string; remove(): void } {
  const directory = mkdtempSync(join(tmpdir(), 'tallybay-small-disk-'));
  const asRoot = process.getuid?.() === 0 ? [] : ['sudo', '-n'];
  const root = (command: string[]) => {
    const [program, ...rest] = [...asRoot, ...command];
    execFileSync(program!, rest, { stdio: 'pipe' });
  };
  try {
    root(['mount', '-t', 'tmpfs', '-o', `size=${megabytes}m,mode=0777`, 'tmpfs', directory]);
  } catch (error) {
    throw new Error(
      `A test of the full disk mounts a small tmpfs, which needs root or sudo: ${(error as Error).message}`,
    );
  }
  const remove = () => {
    root(['umount', '-l', directory]);
    rmSync(directory, { recursive: true });
  };
  return { directory, remove };
}

/** Takes what room is left. @throws Error when the disk did not get full */
export function fillUp(directory: string): string {
  const file = join(directory, 'filler');
  for (let written = 0; ; written++) {
    try {
      writeFileSync(file, Buffer.alloc(1 << 20), { flag: 'a' });
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOSPC') return file;
      throw error;
    }
    if (written > 4 * DISK_MEGABYTES) throw new Error(`${directory} does not get full`);
  }
}

/**
 * Under load, `times` times: the lake's disk gets full, two of its files are cut short, and one file in the landing store is
 * corrupted. Each must be detected and reported while the rest goes on, and "decode again" must bring everything back.
 */
export function damages(options: ScenarioOptions): Promise<Report> {
  const { carrier, times, tell } = options;
  const disk = smallDisk(DISK_MEGABYTES);
  return withBroker(carrier, (environment) =>
    scene(
      options,
      {
        name: `disk full, files cut short and corrupted, ${carrier}`,
        done: { rounds: times },
        environment: { ...environment, TALLYBAY_LAKE_PATIENCE_SECONDS: '1' },
      },
      async (on) => {
        symlinkSync(disk.directory, on.path.lake);
        const receiver = await on.path.add('receive');
        await on.path.add('decode');
        on.load.start();
        for (let round = 0; round < times; round++) {
          await fullDisk(on, receiver, disk.directory);
          await cutShort(on, receiver, 2);
          await corruptLanding(on, receiver);
          await untilNothingFailed(on, receiver);
          await on.look();
          tell(`${round + 1} of ${times} rounds, ${on.load.acknowledged.length} uploads`);
        }
      },
    ),
  ).finally(() => disk.remove());
}

const failedCount = (on: Scene) =>
  on.path.withRegistry(async (registry) => (await registry.uploads.countByState()).failed ?? 0);

async function fullDisk(on: Scene, receiver: PathProcess, disk: string): Promise<void> {
  const filler = fillUp(disk);
  await eventually(async () => (await failedCount(on)) > 0, 'uploads are set aside because the disk is full');
  // Receiving does not depend on the lake.
  const before = on.load.acknowledged.length;
  await eventually(() => on.load.acknowledged.length > before, 'uploads are acknowledged while the disk is full');
  const { deadLetters } = await get<DeadLetterList>(`${receiver.url}/v1/dead-letters?limit=1000`);
  if (!deadLetters.some(({ uploadState, reason }) => uploadState === 'failed' && reason?.code === 'lake_unwritable'))
    throw new Error('no dead letter names the full disk');
  rmSync(filler);
  on.count('times the disk was full');
  await untilNothingFailed(on, receiver);
}

async function cutShort(on: Scene, receiver: PathProcess, files: number): Promise<void> {
  const victims = await storedLogs(on, files);
  for (const log of victims) {
    const file = on.path.samplesFile(log);
    truncateSync(file, randomInt(0, statSync(file).size));
    on.count('part files cut short');
  }
  const { damaged } = await postJson<LakeCheck>(`${receiver.url}/v1/lake-check`, {});
  for (const { id } of victims) {
    if (!damaged.some(({ uploadId }) => uploadId === id)) throw new Error(`the cut file of ${id} was not found`);
    on.count('found and reported');
  }
}

async function corruptLanding(on: Scene, receiver: PathProcess): Promise<void> {
  const [log] = await storedLogs(on, 1);
  const file = join(on.path.home, 'landing', log!.id.slice(0, 2), `${log!.id}.zst`);
  const good = readFileSync(file);
  const bad = Buffer.from(good);
  bad[randomInt(0, bad.length)]! ^= 1 << randomInt(0, 8);
  writeFileSync(file, bad);
  on.count('landing files corrupted');
  let said = false;
  await postJson(`${receiver.url}/v1/uploads/${log!.id}/decode-again`, {}).catch((error: Error) => {
    // Answered at once when it is the head that cannot be read; the rows of before stay.
    if (!/landing_corrupt|chunk_undecodable/.test(error.message)) throw error;
    said = true;
  });
  const upload = await ended(receiver.url, log!.id, 300_000);
  if (!said && upload.state !== 'failed') throw new Error(`a flipped bit in ${file} was passed over`);
  on.count('reported on decode again');
  writeFileSync(file, good);
}

async function untilNothingFailed(on: Scene, receiver: PathProcess): Promise<void> {
  await eventually(async () => {
    if ((await failedCount(on)) === 0) return true;
    await postJson<DecodeAgainResult>(`${receiver.url}/v1/decode-again`, { state: 'failed' });
    await sleep(1_000);
    return false;
  }, 'decode again brings back what had failed');
}

async function storedLogs(on: Scene, count: number): Promise<SentLog[]> {
  const stored = new Set((await on.path.stored()).map(({ id }) => id));
  const logs = on.load.acknowledged.filter(({ id }) => stored.has(id));
  if (logs.length < count) throw new Error(`only ${logs.length} uploads are stored`);
  return Array.from({ length: count }, () => logs.splice(randomInt(0, logs.length), 1)[0]!);
}
