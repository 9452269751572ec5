import { readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { partNamed, tableDirectory, vehicleDirectoryName } from '../layout.js';
import { LAKE_TABLES, type LakeTable } from '../tables.js';
import { withheldAs, withhold, withholdAtInstant } from './withheld.js';

/** One decode of an upload, and the names that its files have. */
export interface Replacement {
  vehicleId: string;
  uploadId: string;
  attempt: number;
  /** Relative to the lake. */
  files: readonly string[];
}

/** For a statement that names one table twice: DuckDB may leave out from the second what it found withheld at the first. */
const ANNOUNCE_MS = 50;

const REPLACING = 'replacing';
const REPLACED = 'replaced';
const idOf = ({ uploadId, attempt }: Replacement): string => `again-${uploadId}-${attempt}`;

/** Whether this decode's files count in place of earlier ones already: it was delivered once more. */
export const hasReplaced = (lake: string, replacement: Replacement): boolean =>
  withheldAs(lake, idOf(replacement))?.purpose === REPLACED;

/**
 * Files of the upload's earlier decodes, also under vehicles that it was taken for; relative to the lake. A decode that is
 * newer than this one is left alone.
 */
export async function earlierFiles(
  lake: string,
  replacement: Replacement,
  formerVehicleIds: readonly string[],
): Promise<string[]> {
  const { vehicleId, uploadId, attempt } = replacement;
  const own = new Set(replacement.files);
  const found: string[] = [];
  for (const table of Object.keys(LAKE_TABLES) as LakeTable[])
    for (const folder of new Set([vehicleId, ...formerVehicleIds].map(vehicleDirectoryName)))
      for (const name of await namesThere(join(tableDirectory(lake, table), folder))) {
        if (!name.startsWith(uploadId)) continue;
        const part = partNamed(name);
        const file = `${table}/${folder}/${name}`;
        if (part?.uploadId === uploadId && (part.attempt ?? 0) <= attempt && !own.has(file)) found.push(file);
      }
  return found;
}

/**
 * Puts a decode's files into place of earlier ones, for every reader at one moment: the new ones are announced before they appear,
 * and one rename takes the old ones out and lets the new ones in. The old ones are removed once no query can be reading them. A
 * kill leaves the old rows or the new ones, and the next delivery goes on.
 */
export async function replaceEarlier(
  lake: string,
  replacement: Replacement,
  earlier: readonly string[],
  show: () => Promise<void>,
): Promise<void> {
  const id = idOf(replacement);
  withhold(lake, { id, kind: 'leaving', purpose: REPLACING, files: replacement.files });
  await pause(ANNOUNCE_MS);
  await show();
  await withholdAtInstant(lake, { id, kind: 'leaving', purpose: REPLACED, files: earlier });
}

/** Whether an earlier delivery of this decode was stopped before its files counted. */
export const isReplacing = (lake: string, replacement: Replacement): boolean =>
  withheldAs(lake, idOf(replacement)) !== null;

const namesThere = (folder: string): Promise<string[]> =>
  readdir(folder).catch((error: NodeJS.ErrnoException) => {
    if (error.code === 'ENOENT') return [];
    throw error;
  });
