import type { Migration } from '../migrations.js';

/** Round or district that a vehicle usually works; null = none. */
export const routes: Migration = async (db, { text }) => {
  await db.schema.alterTable('vehicles').addColumn('route', text).execute();
};
