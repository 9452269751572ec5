import { createHash, randomUUID } from 'node:crypto';
import { readdir, rm, stat } from 'node:fs/promises';
import { join } from 'node:path';
import { livenessOf, THIS_PROCESS } from '@tallybay/stream';

/** Half-written files of another machine or container are left alone for so long. */
const FOREIGN_AGE_MS = 24 * 3_600_000;

/** Process ids can be compared only within one boot and one container. */
const scopeName = createHash('sha256').update(THIS_PROCESS.scope).digest('hex').slice(0, 8);
const PATTERN = /p([0-9a-f]{8})_(\d+)_(\d*)_[0-9a-f]{8}/;

/** A name for the files that this process is writing, by which others can tell whether it still runs. */
export const newOwner = (): string =>
  `p${scopeName}_${THIS_PROCESS.pid}_${THIS_PROCESS.startedAt}_${randomUUID().slice(0, 8)}`;

/**
 * Removes half-written files that nobody will finish: their process is dead, or (where that cannot be told) they have not
 * been touched for a day. @returns how many
 */
export async function removeLeftovers(directory: string, nowMs: number): Promise<number> {
  let removed = 0;
  for (const name of await readdir(directory)) {
    const file = join(directory, name);
    if (!(await isLeft(file, name, nowMs))) continue;
    await rm(file, { force: true });
    removed++;
  }
  return removed;
}

async function isLeft(file: string, name: string, nowMs: number): Promise<boolean> {
  const [, scope, pid, startedAt] = PATTERN.exec(name) ?? [];
  if (scope === scopeName)
    return livenessOf({ pid: Number(pid), startedAt: startedAt ?? '', scope: THIS_PROCESS.scope }) === 'dead';
  const stats = await stat(file).catch(() => null);
  return stats?.isFile() === true && nowMs - stats.mtimeMs > FOREIGN_AGE_MS;
}
