import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/** What people write about vehicles and into recordings; taken away ones stay, with who and when. */
export const notes: Migration = async (db, { text }) => {
  await db.schema
    .createTable('notes')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('vehicle', text, (column) => column.notNull())
    .addColumn('upload', text)
    .addColumn('at_ms', 'bigint')
    .addColumn('note', text, (column) => column.notNull())
    .addColumn('written_by', text, (column) => column.notNull())
    .addColumn('written_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('removed_by', text)
    .addColumn('removed_at_ms', 'bigint')
    .execute();
  await sql`create index notes_by_vehicle on notes (vehicle, upload, written_at_ms)`.execute(db);
};
