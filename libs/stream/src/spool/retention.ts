import { readdir, stat, unlink } from 'node:fs/promises';
import type { SpoolConfig } from '../config.js';
import { errnoOf } from './file-problem.js';
import { GroupOffsets, groupOfFile, groupsDirectory } from './group-offsets.js';
import type { SpoolPartition } from './partition.js';
import { listSegments, segmentPath } from './segment.js';
import { indexPath } from './sparse-index.js';

/**
 * Deletes closed segments that nobody needs: of topics with groups, those that every group has committed past; of topics
 * without, those older than `keepUnreadMs`. The newest segment always stays. Returns how many went.
 */
export async function sweepSegments(partitions: SpoolPartition[], config: SpoolConfig): Promise<number> {
  const groups = await loadGroups(config.directory);
  let deleted = 0;
  for (const { topic, partition, directory } of partitions) {
    const readers = groups.filter((group) => group.topics.includes(topic));
    const done = readers.map((group) => group.committed(topic, partition) ?? 0n);
    const readBelow = done.toSorted((a, b) => (a < b ? -1 : 1))[0];
    const segments = await listSegments(directory);
    for (const [index, base] of segments.slice(0, -1).entries()) {
      const next = segments[index + 1]!;
      if (readBelow !== undefined && readBelow < next) break;
      const keepMs = readBelow === undefined ? config.keepUnreadMs : config.keepReadMs;
      if (!(await deleteIfOlder(directory, base, keepMs))) break;
      deleted++;
    }
  }
  return deleted;
}

async function loadGroups(root: string): Promise<GroupOffsets[]> {
  const names = (await readdir(groupsDirectory(root))).map(groupOfFile).filter((name) => name !== undefined);
  return await Promise.all(names.map((name) => GroupOffsets.load(root, name)));
}

async function deleteIfOlder(directory: string, base: bigint, keepMs: number): Promise<boolean> {
  try {
    const path = segmentPath(directory, base);
    if (Date.now() - (await stat(path)).mtimeMs < keepMs) return false;
    await unlink(indexPath(directory, base)).catch(ignoreMissing);
    await unlink(path);
    return true;
  } catch (error) {
    ignoreMissing(error);
    return true;
  }
}

/** Another process may sweep at the same time. */
function ignoreMissing(error: unknown): void {
  if (errnoOf(error) !== 'ENOENT') throw error;
}
