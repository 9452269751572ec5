import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { initReference } from './analyst/reference-files.js';
import { rankingsDirectory, schemaFile, stagingDirectory, tableDirectory, withheldDirectory } from './layout.js';
import { writeTableFile } from './table-file.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';

/**
 * Makes sure the lake's folders and schema files exist and fit this version's tables; safe to call at every start and
 * from several processes at once.
 * @throws TallybayError `lake_unwritable` naming the folder
 */
export function initLake(lake: string): void {
  try {
    mkdirSync(stagingDirectory(lake), { recursive: true });
    initWithheld(lake);
    mkdirSync(rankingsDirectory(lake), { recursive: true });
    for (const table of Object.keys(LAKE_TABLES) as LakeTable[]) {
      mkdirSync(tableDirectory(lake, table), { recursive: true });
      writeSchemaFile(lake, table);
    }
    initReference(lake);
  } catch (error) {
    throw new TallybayError(
      'lake_unwritable',
      `The lake folder ${lake} cannot be written: ${(error as Error).message}`,
      {
        advice: 'Check that the folder exists, that this user may write there and that the disk has room.',
        cause: error,
      },
    );
  }
}

/** A pattern without any file is an error in DuckDB, so that one state, of nothing, is always there. */
function initWithheld(lake: string): void {
  mkdirSync(withheldDirectory(lake), { recursive: true });
  const none = join(withheldDirectory(lake), 'none.000000.txt');
  if (!existsSync(none)) writeFileSync(none, '');
}

function writeSchemaFile(lake: string, table: LakeTable): void {
  const target = schemaFile(lake, table);
  const fresh = join(stagingDirectory(lake), `_schema-${table}-${process.pid}.parquet`);
  writeTableFile(fresh, table, []);
  if (existsSync(target) && readFileSync(target).equals(readFileSync(fresh))) rmSync(fresh);
  else renameSync(fresh, target);
}
