import { access, mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { partFile, stagingDirectory } from './layout.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';
import { packOf } from './upkeep/packs.js';

export interface StagedFile {
  table: LakeTable;
  part: number;
  staging: string;
  /** Renamed into the lake by an earlier, interrupted try. */
  visible?: boolean;
}

/** Everything one upload puts into the lake, written but not yet visible. */
export interface StagedUpload {
  vehicleId: string;
  uploadId: string;
  /** Which decode of the upload this is; a higher one takes away what lower ones have staged. */
  attempt: number;
  files: StagedFile[];
}

/** A newer decode of the upload has taken this one's staged files away: no more of it may become visible. */
export class StagedTakenAway extends Error {
  override readonly name = 'StagedTakenAway';
}

/** Who stages what: `attempt` as in StagedUpload, `owner` the process or thread that writes. */
export interface Stager {
  attempt: number;
  owner: string;
}

/** What follows the upload's id in the name of a staged file. */
const STAGED_NAME = /^-[a-z_]+-\d+-a(\d+)-/;

export const stagingFile = (
  lake: string,
  uploadId: string,
  { table, part }: { table: LakeTable; part: number },
  { attempt, owner }: Stager,
): string => join(stagingDirectory(lake), `${uploadId}-${table}-${part}-a${attempt}-${owner}.parquet`);

/**
 * Makes a staged upload durable and visible. Every file is synced before the first rename, so a reader never sees a
 * half-written file; `uploads` is renamed last, so an upload listed there is there in full. After a failure it may be called
 * again and goes on where it was. Parts of an earlier decode that this one no longer has are removed, also under
 * `formerVehicleIds`.
 *
 * Two decodes of one upload may be here at once, in different processes. The newer first takes away what the older has
 * staged: whatever that one has renamed by then is replaced or removed here, and its last rename, that of `uploads`, fails.
 * So one whose call succeeded did all of it before the newer one began.
 * @throws TallybayError `lake_unwritable`; StagedTakenAway
 */
export async function commitStaged(
  lake: string,
  staged: StagedUpload,
  formerVehicleIds: readonly string[] = [],
): Promise<void> {
  // Delivered once more after it went into a pack: its rows are there.
  if (packOf(lake, staged.vehicleId, staged.uploadId)) return dropStaged(staged);
  try {
    await Promise.all(staged.files.filter((file) => !file.visible).map((file) => syncPath(file.staging)));
    if (staged.attempt > 0) await takeAwayOlder(lake, staged);
    const directories = new Set<string>();
    const show = async (file: StagedFile) => {
      const target = partFile(lake, file.table, staged.vehicleId, staged.uploadId, file.part);
      if (!directories.has(dirname(target))) await mkdir(dirname(target), { recursive: true });
      directories.add(dirname(target));
      if (!file.visible) await rename(file.staging, target);
      file.visible = true;
    };
    for (const file of staged.files.filter(({ table }) => table !== 'uploads')) await show(file);
    await removeStale(lake, staged, formerVehicleIds);
    for (const file of staged.files.filter(({ table }) => table === 'uploads')) await show(file);
    await Promise.all([...directories].map(syncPath));
  } catch (error) {
    if (await isTakenAway(error, staged)) throw new StagedTakenAway(`upload ${staged.uploadId}, ${staged.attempt}`);
    throw new TallybayError(
      'lake_unwritable',
      `Upload ${staged.uploadId} cannot be put into the lake: ${(error as Error).message}`,
      {
        advice: 'Check the disk; the upload stays on the stream and is tried again.',
        cause: error,
      },
    );
  }
}

/** Removes staged files that will not be committed. */
export async function dropStaged(staged: StagedUpload): Promise<void> {
  await Promise.all(staged.files.map((file) => rm(file.staging, { force: true })));
}

/** Removes all of an upload's files under one vehicle. */
export async function removeUpload(lake: string, vehicleId: string, uploadId: string): Promise<void> {
  for (const table of Object.keys(LAKE_TABLES) as LakeTable[])
    await removeParts(lake, { table, vehicleId, uploadId, from: 0 });
}

async function removeStale(lake: string, staged: StagedUpload, formerVehicleIds: readonly string[]): Promise<void> {
  for (const table of Object.keys(LAKE_TABLES) as LakeTable[]) {
    const first = staged.files.filter((file) => file.table === table).length;
    await removeParts(lake, { table, vehicleId: staged.vehicleId, uploadId: staged.uploadId, from: first });
    for (const vehicleId of formerVehicleIds)
      if (vehicleId !== staged.vehicleId)
        await removeParts(lake, { table, vehicleId, uploadId: staged.uploadId, from: 0 });
  }
}

async function takeAwayOlder(lake: string, { uploadId, attempt }: StagedUpload): Promise<void> {
  const directory = stagingDirectory(lake);
  for (const name of await readdir(directory)) {
    if (!name.startsWith(`${uploadId}-`)) continue;
    const other = STAGED_NAME.exec(name.slice(uploadId.length))?.[1];
    if (other !== undefined && Number(other) < attempt) await rm(join(directory, name), { force: true });
  }
}

async function isTakenAway(error: unknown, staged: StagedUpload): Promise<boolean> {
  if ((error as NodeJS.ErrnoException).code !== 'ENOENT') return false;
  for (const file of staged.files) {
    if (file.visible) continue;
    const isThere = await access(file.staging).then(
      () => true,
      () => false,
    );
    if (!isThere) return true;
  }
  return false;
}

/** Parts are numbered without holes, so the first missing one ends the search. */
async function removeParts(
  lake: string,
  which: { table: LakeTable; vehicleId: string; uploadId: string; from: number },
): Promise<void> {
  for (let part = which.from; ; part++) {
    try {
      await rm(partFile(lake, which.table, which.vehicleId, which.uploadId, part));
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return;
      throw error;
    }
  }
}

async function syncPath(path: string): Promise<void> {
  const handle = await open(path, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}
