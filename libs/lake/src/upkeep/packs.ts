import { existsSync, readFileSync, rmSync } from 'node:fs';
import { join, relative } from 'node:path';
import { z } from 'zod';
import { packsDirectory, partNamed, tableDirectory, vehicleDirectoryName } from '../layout.js';
import type { LakeTable } from '../tables.js';
import { namesIn } from './folder-names.js';
import { steadily, withheldFiles } from './withheld.js';

/**
 * Whole uploads of one vehicle whose first rows are of one UTC week, a file a table in place of one an upload and table:
 *
 *   <table>/<vehicle>/<pack>.parquet     rows, in the order of the uploads' first rows
 *   packs/<vehicle>/<pack>.json          which uploads it holds
 *
 * It lives while its file of the table `uploads` is there and counts.
 */
export const packSchema = z.object({
  id: z.string().regex(/^pack-\d{4}-W\d{2}-p[0-9a-f]+$/),
  vehicleId: z.string(),
  week: z.string(),
  /** Newest row of any of its uploads. */
  lastMs: z.number(),
  uploads: z.array(z.string()),
});
export type Pack = z.infer<typeof packSchema>;

export const packFile = (lake: string, table: LakeTable, { vehicleId, id }: Pick<Pack, 'vehicleId' | 'id'>): string =>
  join(tableDirectory(lake, table), vehicleDirectoryName(vehicleId), `${id}.parquet`);

export const packNote = (lake: string, { vehicleId, id }: Pick<Pack, 'vehicleId' | 'id'>): string =>
  join(packsDirectory(lake), vehicleDirectoryName(vehicleId), `${id}.json`);

/** Packs of a vehicle whose rows count. */
export function livePacks(lake: string, vehicleId: string): Pack[] {
  const folder = vehicleDirectoryName(vehicleId);
  // Most vehicles have none while their logs come in: nothing else is read then.
  if (namesIn(join(packsDirectory(lake), folder)).length === 0) return [];
  return notesIn(lake, folder, withheldFiles(lake));
}

/** Packs of every vehicle whose rows count. */
export function allLivePacks(lake: string): Pack[] {
  const withheld = withheldFiles(lake);
  return namesIn(packsDirectory(lake)).flatMap((folder) => notesIn(lake, folder, withheld));
}

/** The pack that holds an upload, or null: then it has files of its own, or none. */
export const packOf = (lake: string, vehicleId: string, uploadId: string): Pack | null =>
  livePacks(lake, vehicleId).find(({ uploads }) => uploads.includes(uploadId)) ?? null;

/** A pack as its file's folder and name tell of it, whether or not it counts; null when the name is no pack's. */
export function packNamed(lake: string, vehicleFolder: string, fileName: string): Pack | null {
  if (!/^pack-.*\.parquet$/.test(fileName)) return null;
  return readNote(join(packsDirectory(lake), vehicleFolder, fileName.replace(/parquet$/, 'json')));
}

/** Files that have an upload's rows of a table; `packed`: also other uploads' rows, so that they must be told apart. */
export function filesOfUpload(
  lake: string,
  table: LakeTable,
  { vehicleId, uploadId }: { vehicleId: string; uploadId: string },
): { paths: string[]; packed: boolean } {
  const folder = vehicleDirectoryName(vehicleId);
  const directory = join(tableDirectory(lake, table), folder);
  return steadily(lake, ({ files: withheld }) => {
    const counts = (path: string) => !withheld.has(relative(lake, path));
    const packs = notesIn(lake, folder, withheld)
      .filter(({ uploads }) => uploads.includes(uploadId))
      .map((pack) => packFile(lake, table, pack))
      .filter((path) => counts(path) && existsSync(path));
    const parts = namesIn(directory)
      .filter((name) => name.startsWith(uploadId) && partNamed(name)?.uploadId === uploadId)
      .sort()
      .map((name) => join(directory, name))
      .filter(counts);
    return { paths: [...parts, ...packs], packed: packs.length > 0 };
  });
}

/** Removes notes of packs whose files are gone. */
export function forgetLostPacks(lake: string): void {
  const withheld = withheldFiles(lake);
  for (const folder of namesIn(packsDirectory(lake)))
    for (const name of namesIn(join(packsDirectory(lake), folder))) {
      const note = join(packsDirectory(lake), folder, name);
      const pack = readNote(note);
      const file = pack && packFile(lake, 'uploads', pack);
      if (file && !existsSync(file) && !withheld.has(relative(lake, file))) rmSync(note, { force: true });
    }
}

function notesIn(lake: string, folder: string, withheld: ReadonlySet<string>): Pack[] {
  const directory = join(packsDirectory(lake), folder);
  return namesIn(directory).flatMap((name) => {
    const pack = name.endsWith('.json') ? readNote(join(directory, name)) : null;
    const file = pack && packFile(lake, 'uploads', pack);
    return pack && file && !withheld.has(relative(lake, file)) && existsSync(file) ? [pack] : [];
  });
}

function readNote(path: string): Pack | null {
  try {
    return packSchema.parse(JSON.parse(readFileSync(path, 'utf8')));
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}
