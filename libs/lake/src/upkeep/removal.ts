import { rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { forgetWithheld, readWithheld, withheldAs } from './withheld.js';

export interface Removed {
  files: number;
  bytes: number;
}

/**
 * Removes files that have been withheld for the grace, and forgets what was withheld for two: a query that began before may
 * be reading the one, and one that listed it just before may open the other. After a kill on the way it goes on.
 */
export function removeWithheld(lake: string, nowMs: number, graceMs: number): Removed {
  const removed: Removed = { files: 0, bytes: 0 };
  for (const { id, kind, state, atMs, files } of readWithheld(lake)) {
    if (kind !== 'leaving' || state === 0 || nowMs - atMs < graceMs) continue;
    // A decode that was stopped on the way may be going on at this moment, and withholds its files anew first.
    if (withheldAs(lake, id)?.state !== state) continue;
    let left = 0;
    for (const file of files) {
      const size = statSync(join(lake, file), { throwIfNoEntry: false })?.size;
      if (size === undefined) continue;
      rmSync(join(lake, file), { force: true });
      left++;
      removed.files++;
      removed.bytes += size;
    }
    if (left === 0 && nowMs - atMs >= 2 * graceMs) forgetWithheld(lake, id);
  }
  return removed;
}
