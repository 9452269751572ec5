import { rmSync, statSync } from 'node:fs';
import { access, mkdir, open, readdir, rename, rm } from 'node:fs/promises';
import { dirname, join, relative } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { revisionFile, stagingDirectory } from './layout.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';
import { packOf } from './upkeep/packs.js';
import { earlierFiles, hasReplaced, isReplacing, replaceEarlier } from './upkeep/replacing.js';
import { withheldFiles } from './upkeep/withheld.js';

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
 * again and goes on where it was.
 *
 * Decoded again, its files have names of their own and take the place of the earlier ones, also of those under
 * `formerVehicleIds`, for every reader at one moment.
 *
 * Two decodes of one upload may be here at once, in different processes. The newer first takes away what the older has
 * staged: whatever that one has renamed by then is replaced, and its last rename, that of `uploads`, fails. So one whose
 * call succeeded renamed all of it before the newer one looked for what it is to replace.
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
    if (staged.attempt > 0 || formerVehicleIds.length > 0) await showAgain(lake, staged, formerVehicleIds);
    else await show(lake, staged, () => removeUnstaged(lake, staged));
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

/** Takes back what `commitStaged` has shown of an upload and could not finish. */
export async function withdrawStaged(lake: string, staged: StagedUpload): Promise<void> {
  const withheld = withheldFiles(lake);
  for (const file of staged.files) {
    const target = targetOf(lake, staged, file);
    // What did not count is left to upkeep: some reader may have it in its list.
    if (file.visible && !withheld.has(relative(lake, target))) await rm(target, { force: true });
  }
}

const targetOf = (lake: string, staged: StagedUpload, { table, part }: StagedFile): string =>
  revisionFile(lake, table, { ...staged, part }, staged.attempt);

/** Delivered once more after the program has changed, the same decode may have fewer tables. */
function removeUnstaged(lake: string, staged: StagedUpload): void {
  for (const table of Object.keys(LAKE_TABLES) as LakeTable[]) {
    if (staged.files.some((file) => file.table === table)) continue;
    const path = targetOf(lake, staged, { table, part: 0, staging: '' });
    if (statSync(path, { throwIfNoEntry: false })) rmSync(path, { force: true });
  }
}

async function showAgain(lake: string, staged: StagedUpload, formerVehicleIds: readonly string[]): Promise<void> {
  const { vehicleId, uploadId, attempt } = staged;
  const files = staged.files.map((file) => relative(lake, targetOf(lake, staged, file)));
  const replacement = { vehicleId, uploadId, attempt, files };
  if (hasReplaced(lake, replacement)) return dropStaged(staged);
  if (attempt > 0) await takeAwayOlder(lake, staged);
  // In this order: what the older one has renamed is there by now.
  const earlier = await earlierFiles(lake, replacement, formerVehicleIds);
  if (earlier.length === 0 && !isReplacing(lake, replacement)) return show(lake, staged);
  await replaceEarlier(lake, replacement, earlier, () => show(lake, staged));
}

/** @param beforeLast done when only `uploads` is left */
async function show(lake: string, staged: StagedUpload, beforeLast: () => void = () => {}): Promise<void> {
  const directories = new Set<string>();
  const showOne = async (file: StagedFile) => {
    const target = targetOf(lake, staged, file);
    if (!directories.has(dirname(target))) await mkdir(dirname(target), { recursive: true });
    directories.add(dirname(target));
    if (!file.visible) await rename(file.staging, target);
    file.visible = true;
  };
  for (const file of staged.files.filter(({ table }) => table !== 'uploads')) await showOne(file);
  beforeLast();
  for (const file of staged.files.filter(({ table }) => table === 'uploads')) await showOne(file);
  await Promise.all([...directories].map(syncPath));
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

async function syncPath(path: string): Promise<void> {
  const handle = await open(path, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}
