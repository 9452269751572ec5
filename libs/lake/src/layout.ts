import { join } from 'node:path';
import type { LakeTable } from './tables.js';

/**
 * Where things are, under one lake directory:
 *
 *   <table>/_schema.parquet                       no rows, so that an empty table is still a table
 *   <table>/<vehicle>/<upload>-<part>.parquet     one file a part; the name is a function of upload and part
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

/** A vehicle id as a directory name: anything beyond letters, digits, `.`, `_` and `-` is percent-encoded. */
export const vehicleDirectoryName = (vehicleId: string): string => {
  const encoded = Array.from(new TextEncoder().encode(vehicleId), (byte) => {
    const char = String.fromCharCode(byte);
    return /[A-Za-z0-9_.-]/.test(char) ? char : `%${byte.toString(16).toUpperCase().padStart(2, '0')}`;
  }).join('');
  return /^\.+$/.test(encoded) ? encoded.replaceAll('.', '%2E') : encoded;
};
