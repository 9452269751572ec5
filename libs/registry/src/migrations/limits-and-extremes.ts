import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/**
 * Crossings of limits on their way to the event topic, one row each for good: what has a row is never announced anew. And
 * who set a vehicle's lowest and highest values back, when and why; `signals` is a JSON list, null = all.
 */
export const limitsAndExtremes: Migration = async (db, { text }) => {
  await db.schema
    .createTable('limit_events')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('upload', text, (column) => column.notNull())
    .addColumn('position', 'integer', (column) => column.notNull())
    .addColumn('event', text, (column) => column.notNull())
    .addColumn('sent_at_ms', 'bigint')
    .execute();
  await sql`create index limit_events_by_upload on limit_events (upload, position)`.execute(db);

  await db.schema
    .createTable('extremes_resets')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('vehicle', text, (column) => column.notNull())
    .addColumn('at_ms', 'bigint', (column) => column.notNull())
    .addColumn('reset_by', text, (column) => column.notNull())
    .addColumn('reason', text, (column) => column.notNull())
    .addColumn('signals', text)
    .execute();
  await sql`create index extremes_resets_by_vehicle on extremes_resets (vehicle, at_ms)`.execute(db);
};
