import { join } from 'node:path';
import { schemaFile, tableDirectory, tableGlob, vehicleDirectoryName } from '../layout.js';
import { quoteText } from '../sql.js';
import type { LakeTable } from '../tables.js';
import { namesIn } from './folder-names.js';
import { type WithheldNow, withheldSince } from './withheld.js';

/** A table of a lake, all of it or some vehicles'. */
export interface TableFiles {
  lake: string;
  table: LakeTable;
  vehicles?: readonly string[] | undefined;
  /** Whatever is withheld, no pattern. */
  byName?: boolean;
}

/**
 * What read_parquet takes: a table's files, or some vehicles' of it. A pattern in the usual case, that none of them is
 * withheld; else those that count, one by one: a pattern would find the others too, and open them when they may be gone.
 */
export function filesSql(tableFiles: TableFiles, withheld: ReadonlySet<string>): string {
  const { lake, table, vehicles } = tableFiles;
  const folders = vehicles?.map(vehicleDirectoryName);
  const schema = schemaFile(lake, table);
  if (isByPattern(tableFiles, withheld)) {
    if (!folders) return quoteText(tableGlob(lake, table));
    // A pattern without any file is an error in DuckDB; a vehicle without a folder has the schema file's no rows.
    const filled = folders.filter((folder) => parquetIn(join(tableDirectory(lake, table), folder)).length > 0);
    return listSql([schema, ...filled.map((folder) => join(tableDirectory(lake, table), folder, '*.parquet'))]);
  }
  const counted = (folders ?? namesIn(tableDirectory(lake, table)).filter((name) => !name.endsWith('.parquet')))
    .flatMap((folder) =>
      parquetIn(join(tableDirectory(lake, table), folder)).map((name) => `${table}/${folder}/${name}`),
    )
    .filter((file) => !withheld.has(file));
  return listSql([schema, ...counted.map((file) => join(lake, file))]);
}

/** Whether DuckDB lists the files itself, some time after what is withheld was looked up. */
export const isByPattern = (files: TableFiles, withheld: ReadonlySet<string>): boolean =>
  !files.byName && !concerns(files, withheld);

/** Whether DuckDB may have found files by a pattern that were announced, as not counting yet, after the moment. */
export function foundMore(lake: string, byPattern: readonly TableFiles[], moment: WithheldNow): boolean {
  if (byPattern.length === 0) return false;
  const since = withheldSince(lake, moment);
  return since.size > 0 && byPattern.some((files) => concerns(files, since));
}

function concerns({ table, vehicles }: TableFiles, withheld: ReadonlySet<string>): boolean {
  const within = vehicles ? vehicles.map((id) => `${table}/${vehicleDirectoryName(id)}/`) : [`${table}/`];
  for (const file of withheld) if (within.some((prefix) => file.startsWith(prefix))) return true;
  return false;
}

const parquetIn = (folder: string): string[] => namesIn(folder).filter((name) => name.endsWith('.parquet'));

const listSql = (paths: readonly string[]): string => `[${paths.map(quoteText).join(', ')}]`;
