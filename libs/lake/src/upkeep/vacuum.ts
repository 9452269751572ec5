import { rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { rankingsDirectory, stagingDirectory } from '../layout.js';
import { listRankings } from '../rankings.js';
import { namesIn } from './folder-names.js';
import type { Removed } from './removal.js';

/** Half-written files that nobody has touched for so long have no writer any more. */
const ABANDONED_MS = 24 * 3_600_000;

/** Removes what killed processes left half-written, whoever they were. */
export function removeAbandoned(lake: string, nowMs: number): Removed {
  const directory = stagingDirectory(lake);
  return removeOlder(
    namesIn(directory).map((name) => join(directory, name)),
    nowMs - ABANDONED_MS,
  );
}

/**
 * Removes revisions of rankings that a newer one of the same week has superseded before an instant. The newest of each week
 * stays, and with it the count of revisions.
 */
export async function removeSupersededRankings(lake: string, beforeMs: number): Promise<Removed> {
  const revisions = await listRankings(lake);
  const superseded = revisions.filter(({ week }, index) => revisions[index - 1]?.week === week);
  const directory = rankingsDirectory(lake);
  return removeOlder(
    superseded.map(({ week, revision }) => join(directory, `${week}-r${revision}.json`)),
    beforeMs,
  );
}

function removeOlder(paths: readonly string[], beforeMs: number): Removed {
  const removed: Removed = { files: 0, bytes: 0 };
  for (const path of paths) {
    const stats = statSync(path, { throwIfNoEntry: false });
    if (!stats?.isFile() || stats.mtimeMs >= beforeMs) continue;
    rmSync(path, { force: true });
    removed.files++;
    removed.bytes += stats.size;
  }
  return removed;
}
