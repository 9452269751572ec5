import { existsSync, rmSync } from 'node:fs';
import { basename, join, relative } from 'node:path';
import { setTimeout as pause } from 'node:timers/promises';
import { z } from 'zod';
import type { Lake } from '../lake.js';
import { partNamed, revisionFile } from '../layout.js';
import { quoteText } from '../sql.js';
import { LAKE_TABLES, type LakeTable } from '../tables.js';
import { withCopier, writeRows } from './pack-files.js';
import { type Pack, packFile, packNote, packOf } from './packs.js';
import { withheldAs, withheldFiles, withhold } from './withheld.js';

const SETTLE_MS = 1_000;

/**
 * Makes a stored upload ready to be decoded again: if it is in a pack, all uploads of the pack get files of their own again and
 * the pack goes, by one rename. The caller holds upkeep off. @returns whether it was in a pack
 */
export async function readyForDecode(
  lake: string,
  { vehicleId, uploadId }: { vehicleId: string; uploadId: string },
  settleMs: number = SETTLE_MS,
): Promise<boolean> {
  const pack = packOf(lake, vehicleId, uploadId);
  if (pack) await unpack(lake, pack, settleMs);
  return pack !== null;
}

/**
 * A kill on the way leaves the pack counting and the uploads' files withheld, as they were. Files that are still there from
 * when the pack was made are taken as they are; others get names of this pack, since older rows of the upload may lie there.
 */
async function unpack(lake: string, pack: Pack, settleMs: number): Promise<void> {
  const withheld = withheldFiles(lake);
  const packFiles = TABLES.map((table) => packFile(lake, table, pack)).filter(
    (path) => existsSync(path) && !withheld.has(relative(lake, path)),
  );
  await withCopier(lake, async (copier) => {
    const before = withheldAs(lake, pack.id)?.files ?? [];
    const parts = await partsOf(copier, pack, { packFiles, before });
    const files = parts.map(({ target }) => relative(lake, target));
    withhold(lake, {
      ...{ id: pack.id, kind: 'leaving', purpose: 'unpacking' },
      files: [...new Set([...before, ...files])],
    });
    await pause(settleMs);
    for (const { table, source, target, uploadId } of parts)
      if (!existsSync(target)) await writeRows(copier, table, [source], target, uploadId);
    await pause(settleMs);
    const shown = new Set(files);
    withhold(lake, {
      ...{ id: pack.id, kind: 'leaving', purpose: 'unpacked' },
      files: [...before.filter((file) => !shown.has(file)), ...packFiles.map((path) => relative(lake, path))],
    });
  });
  rmSync(packNote(lake, pack), { force: true });
}

const TABLES = Object.keys(LAKE_TABLES) as LakeTable[];
const uploadRow = z.object({ upload_id: z.string() });

interface Part {
  table: LakeTable;
  source: string;
  target: string;
  uploadId: string;
}

/** @param which.before relative to the lake: what the pack stands for, as far as it has not been removed */
async function partsOf(
  copier: Lake,
  pack: Pack,
  which: { packFiles: readonly string[]; before: readonly string[] },
): Promise<Part[]> {
  const lake = copier.directory;
  const { vehicleId } = pack;
  const parts: Part[] = [];
  for (const table of TABLES) {
    const source = packFile(lake, table, pack);
    if (!which.packFiles.includes(source)) continue;
    const own = which.before.filter((file) => file.startsWith(`${table}/`) && existsSync(join(lake, file)));
    const sql = `SELECT DISTINCT upload_id FROM read_parquet(${quoteText(source)}) ORDER BY upload_id`;
    for (const { upload_id: uploadId } of await copier.query(sql, uploadRow)) {
      const there = own.find((file) => partNamed(basename(file))?.uploadId === uploadId);
      const target = there ? join(lake, there) : revisionFile(lake, table, { vehicleId, uploadId }, pack.id);
      parts.push({ table, source, uploadId, target });
    }
  }
  return parts;
}
