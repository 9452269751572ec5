import { join } from 'node:path';
import type { LakeTable } from './tables.js';

/**
 * Where things are, under one lake directory:
 *
 *   <table>/_schema.parquet                       no rows, so that an empty table is still a table
 *   <table>/<vehicle>/<upload>-<part>.parquet     one file a part; the name is a function of upload, part and attempt:
 *   <table>/<vehicle>/<upload>-<part>-r<attempt>.parquet   of a decode after the first, `-p…`: taken out of a pack again
 *   <table>/<vehicle>/<pack>.parquet              small uploads of one week together, with packs/<vehicle>/<pack>.json
 *   reference/<table>.parquet                     what people decide and the rules make of the facts, for SQL
 *   lake.sql                                      opens all of it with the plain DuckDB command line
 *   rankings/<week>-r<revision>.json              published rankings, kept
 *   withheld/<id>.<state>.txt                     files that do not count yet or no more (see upkeep/withheld.ts)
 *   .staging/                                     half-written files; renamed into place when complete
 *   .damaged/                                     files that `checkLake` took out
 */
export const tableDirectory = (lake: string, table: LakeTable): string => join(lake, table);
export const tableGlob = (lake: string, table: LakeTable): string => join(lake, table, '**', '*.parquet');
export const schemaFile = (lake: string, table: LakeTable): string => join(lake, table, '_schema.parquet');
export const stagingDirectory = (lake: string): string => join(lake, '.staging');
export const withheldDirectory = (lake: string): string => join(lake, 'withheld');
export const packsDirectory = (lake: string): string => join(lake, 'packs');
export const damagedDirectory = (lake: string): string => join(lake, '.damaged');
export const referenceDirectory = (lake: string): string => join(lake, 'reference');
export const referenceFile = (lake: string, table: string): string => join(lake, 'reference', `${table}.parquet`);
export const lakeSqlFile = (lake: string): string => join(lake, 'lake.sql');
export const rankingsDirectory = (lake: string): string => join(lake, 'rankings');

export const partFile = (lake: string, table: LakeTable, vehicleId: string, uploadId: string, part: number): string =>
  join(lake, table, vehicleDirectoryName(vehicleId), `${uploadId}-${String(part).padStart(4, '0')}.parquet`);

/** Which writing of an upload's rows: the number of its decode, from 0, or the id of the pack that they were taken out of. */
export type Revision = number | string;

export const revisionFile = (
  lake: string,
  table: LakeTable,
  { vehicleId, uploadId, part = 0 }: { vehicleId: string; uploadId: string; part?: number },
  revision: Revision,
): string => {
  const first = partFile(lake, table, vehicleId, uploadId, part);
  if (revision === 0) return first;
  const suffix = typeof revision === 'number' ? `r${revision}` : revision.slice(revision.lastIndexOf('-') + 1);
  return first.replace(/\.parquet$/, `-${suffix}.parquet`);
};

/** `attempt`: null when the rows were taken out of a pack. */
export interface PartName {
  uploadId: string;
  attempt: number | null;
}

/** What the name of a part's file says; null for schema files and packs. */
export function partNamed(name: string): PartName | null {
  const [, uploadId, revision] = /^(.+?)-\d{4,}(?:-(r\d+|p[0-9a-f]+))?\.parquet$/.exec(name) ?? [];
  if (uploadId === undefined || uploadId.startsWith('pack-')) return null;
  const attempt = revision === undefined ? 0 : revision.startsWith('r') ? Number(revision.slice(1)) : null;
  return { uploadId, attempt };
}

/** A vehicle id as a directory name: anything beyond letters, digits, `.`, `_` and `-` is percent-encoded. */
export const vehicleDirectoryName = (vehicleId: string): string => {
  const encoded = Array.from(new TextEncoder().encode(vehicleId), (byte) => {
    const char = String.fromCharCode(byte);
    return /[A-Za-z0-9_.-]/.test(char) ? char : `%${byte.toString(16).toUpperCase().padStart(2, '0')}`;
  }).join('');
  return /^\.+$/.test(encoded) ? encoded.replaceAll('.', '%2E') : encoded;
};
