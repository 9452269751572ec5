import { randomBytes } from 'node:crypto';
import { statSync } from 'node:fs';
import { relative } from 'node:path';
import { LAKE_TABLES, type LakeTable } from '../tables.js';
import { OwnFiles } from './own-files.js';
import { allLivePacks, packFile } from './packs.js';
import { withheldFiles, withhold } from './withheld.js';

const DAY_MS = 86_400_000;
const RETENTION = 'retention';

/** Tables of which old rows may go. What an upload was stays in `uploads`. */
export type KeptTable = Exclude<LakeTable, 'uploads'>;
export const KEPT_TABLES = (Object.keys(LAKE_TABLES) as LakeTable[]).filter((table) => table !== 'uploads');

/** Days by table; a table without is kept for ever. */
export type KeepDays = Partial<Record<KeptTable, number | null>>;

/** An upload and its newest row. */
export interface AgedUpload {
  vehicleId: string;
  uploadId: string;
  lastMs: number;
}

export interface ExpiredUpload extends AgedUpload {
  tables: KeptTable[];
}

/** Tables of which the rows of an upload are older than they are kept. */
export const expiredTables = (keep: KeepDays, lastMs: number, nowMs: number): KeptTable[] =>
  (KEPT_TABLES as KeptTable[]).filter((table) => {
    const days = keep[table];
    return days !== null && days !== undefined && lastMs < nowMs - days * DAY_MS;
  });

/** The newest instant that some table no longer keeps; null where everything is kept. */
export function oldestKeptMs(keep: KeepDays, nowMs: number): number | null {
  const days = Object.values(keep).filter((value) => typeof value === 'number');
  return days.length === 0 ? null : nowMs - Math.min(...days) * DAY_MS;
}

/**
 * Takes files of whole uploads out of the tables that no longer keep them, at one moment; `removeWithheld` removes them
 * after the grace. @param options.own what is known of the lake's folders already @returns uploads of which something went
 */
export function expireUploads(
  lake: string,
  uploads: readonly AgedUpload[],
  { keep, nowMs, own = new OwnFiles(lake) }: { keep: KeepDays; nowMs: number; own?: OwnFiles },
): ExpiredUpload[] {
  const files: string[] = [];
  const expired = uploads.flatMap((upload) => {
    const tables = expiredTables(keep, upload.lastMs, nowMs).filter((table) => {
      const parts = own.of(table, upload.vehicleId, upload.uploadId);
      files.push(...parts);
      return parts.length > 0;
    });
    return tables.length > 0 ? [{ ...upload, tables }] : [];
  });
  if (files.length > 0)
    withhold(lake, { id: `old-${randomBytes(6).toString('hex')}`, kind: 'leaving', files, purpose: RETENTION });
  return expired;
}

/** The same for packs, each by its newest row. */
export function expirePacks(lake: string, keep: KeepDays, nowMs: number): ExpiredUpload[] {
  const already = withheldFiles(lake);
  const files: string[] = [];
  const expired = allLivePacks(lake).flatMap((pack) => {
    const { vehicleId, lastMs } = pack;
    const tables = expiredTables(keep, lastMs, nowMs).filter((table) => {
      const path = packFile(lake, table, pack);
      const file = relative(lake, path);
      if (already.has(file) || !statSync(path, { throwIfNoEntry: false })) return false;
      files.push(file);
      return true;
    });
    return tables.length === 0 ? [] : pack.uploads.map((uploadId) => ({ vehicleId, uploadId, lastMs, tables }));
  });
  if (files.length > 0)
    withhold(lake, { id: `old-${randomBytes(6).toString('hex')}`, kind: 'leaving', files, purpose: RETENTION });
  return expired;
}
