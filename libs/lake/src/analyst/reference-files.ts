import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { lakeSqlFile, referenceDirectory, referenceFile, stagingDirectory } from '../layout.js';
import { writeRowsFile } from '../table-file.js';
import { REFERENCE_TABLES, type ReferenceRow, type ReferenceTable } from './reference-tables.js';
import { lakeSql } from './view-sql.js';

/**
 * Replaces one reference table as a whole; a table whose bytes are the same is left alone. Readers see the old file or the
 * new one. @returns whether it changed. @throws TallybayError `lake_unwritable`
 */
export function writeReference<T extends ReferenceTable>(
  lake: string,
  table: T,
  rows: readonly ReferenceRow<T>[],
): boolean {
  const fresh = join(stagingDirectory(lake), `_reference-${table}-${process.pid}.parquet`);
  try {
    mkdirSync(referenceDirectory(lake), { recursive: true });
    writeRowsFile(fresh, REFERENCE_TABLES[table], rows);
    return replaceIfChanged(fresh, referenceFile(lake, table));
  } catch (error) {
    throw new TallybayError('lake_unwritable', `The lake's ${table} cannot be written: ${(error as Error).message}`, {
      advice: 'Check that the lake folder can be written and that the disk has room.',
      cause: error,
    });
  }
}

/** Reference tables without rows where there are none yet, and `lake.sql`; called when the lake is opened for writing. */
export function initReference(lake: string): void {
  for (const table of Object.keys(REFERENCE_TABLES) as ReferenceTable[])
    if (!existsSync(referenceFile(lake, table))) writeReference(lake, table, []);
  const fresh = join(stagingDirectory(lake), `_lake-${process.pid}.sql`);
  writeFileSync(fresh, lakeSql(lake));
  replaceIfChanged(fresh, lakeSqlFile(lake));
}

function replaceIfChanged(fresh: string, target: string): boolean {
  const changed = !existsSync(target) || !readFileSync(target).equals(readFileSync(fresh));
  if (changed) renameSync(fresh, target);
  else rmSync(fresh);
  return changed;
}
