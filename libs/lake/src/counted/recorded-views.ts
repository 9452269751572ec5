import type { Lake } from '../lake.js';
import type { LakeTable } from '../tables.js';

/** Tables whose rows count time; their views show each second once after `countOnce`. */
export const COUNTED_TABLES = ['drives', 'dwell', 'signal_stats'] as const;
export type CountedTable = (typeof COUNTED_TABLES)[number];

const setAside = new WeakSet<Lake>();

/** The view with every upload's rows, whether or not some are counted from another upload. */
export const recordedView = (lake: Lake, table: CountedTable): string =>
  setAside.has(lake) ? `recorded_${table}` : table;

/** Name under which the view of a table's files goes now. */
export const fileView = (lake: Lake, table: LakeTable): string =>
  COUNTED_TABLES.some((counted) => counted === table) ? recordedView(lake, table as CountedTable) : table;

/** Gives the views of all rows their other name, so that theirs is free for views that count once. */
export async function setRecordedAside(lake: Lake): Promise<void> {
  if (setAside.has(lake)) return;
  for (const table of COUNTED_TABLES) await lake.run(`ALTER VIEW ${table} RENAME TO recorded_${table}`);
  setAside.add(lake);
}

export const countsOnce = (lake: Lake): boolean => setAside.has(lake);
