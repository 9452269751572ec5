import { readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type LakeUpkeep, lakeUpkeepSchema } from '@tallybay/contracts';
import { stagingDirectory } from '@tallybay/lake';

const recordFile = (lake: string): string => join(lake, '.upkeep.json');

/** What the last round did, in whatever process; null before the first, and for a record that cannot be read. */
export function lastUpkeep(lake: string): LakeUpkeep | null {
  try {
    return lakeUpkeepSchema.safeParse(JSON.parse(readFileSync(recordFile(lake), 'utf8'))).data ?? null;
  } catch {
    return null;
  }
}

export function recordUpkeep(lake: string, upkeep: LakeUpkeep): void {
  const staging = join(stagingDirectory(lake), `_upkeep-${process.pid}`);
  writeFileSync(staging, JSON.stringify(upkeep));
  renameSync(staging, recordFile(lake));
}
