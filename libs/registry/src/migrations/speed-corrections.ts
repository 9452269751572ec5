import type { Migration } from '../migrations.js';

/** Tyre and final-drive changes of a vehicle, as a JSON list; null = none. */
export const speedCorrections: Migration = async (db, { text }) => {
  await db.schema.alterTable('vehicles').addColumn('speed_corrections', text).execute();
};
