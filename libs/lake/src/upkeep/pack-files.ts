import { closeSync, existsSync, fsyncSync, mkdirSync, openSync, renameSync, rmSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { z } from 'zod';
import { Lake } from '../lake.js';
import { schemaFile, stagingDirectory } from '../layout.js';
import { quoteIdentifier, quoteText } from '../sql.js';
import { LAKE_TABLES, type LakeTable } from '../tables.js';
import { syncFolder } from './folder-names.js';

/** Rows kept together, so that a span of time skips the rest by their statistics. */
const ROW_GROUP_ROWS = 30_720;

/** Runs work with a DuckDB of its own that keeps rows in their order. */
export async function withCopier<T>(lake: string, work: (copier: Lake) => Promise<T>): Promise<T> {
  const copier = await Lake.open(lake, { threads: 1, memoryLimit: '512MB', tables: [] });
  try {
    return await work(copier);
  } finally {
    copier.close();
  }
}

const countRow = z.object({ rows: z.number() });

/**
 * Writes rows of some files, in their order, as one file at its place, durably and at one moment. Counts what it has
 * written. @param uploadId only this upload's @returns rows; without any there is no file
 */
export async function writeRows(
  copier: Lake,
  table: LakeTable,
  sources: readonly string[],
  target: string,
  uploadId?: string,
): Promise<number> {
  const lake = copier.directory;
  const list = [schemaFile(lake, table), ...sources].map(quoteText).join(', ');
  const only = uploadId === undefined ? '' : ` WHERE upload_id = ${quoteText(uploadId)}`;
  const from = `FROM read_parquet([${list}], union_by_name = true)${only}`;
  const rowsOf = async (sql: string) => (await copier.query(`SELECT count(*) AS rows ${sql}`, countRow))[0]!.rows;
  const rows = await rowsOf(from);
  if (rows === 0) return 0;
  const columns = LAKE_TABLES[table].map(({ name }) => quoteIdentifier(name)).join(', ');
  const staging = join(stagingDirectory(lake), `_copy-${table}-${process.pid}-${basename(target)}`);
  try {
    const options = `FORMAT parquet, COMPRESSION zstd, ROW_GROUP_SIZE ${ROW_GROUP_ROWS}`;
    await copier.run(`COPY (SELECT ${columns} ${from}) TO ${quoteText(staging)} (${options})`);
    const written = await rowsOf(`FROM read_parquet(${quoteText(staging)})`);
    if (written !== rows) throw new Error(`${staging} has ${written} rows of ${rows}`);
    putInPlace(staging, target);
  } catch (error) {
    rmSync(staging, { force: true });
    throw error;
  }
  return rows;
}

/** Synced, renamed, and its folder synced. */
export function putInPlace(staging: string, target: string): void {
  const descriptor = openSync(staging, 'r');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
  const folder = dirname(target);
  if (!existsSync(folder)) mkdirSync(folder, { recursive: true });
  renameSync(staging, target);
  syncFolder(folder);
}
