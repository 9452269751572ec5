import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/** What people are told: once per subject, with how far each way of telling has come. */
export const notices: Migration = async (db, { text }) => {
  await db.schema
    .createTable('notices')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('kind', text, (column) => column.notNull())
    .addColumn('vehicle', text)
    .addColumn('words', text, (column) => column.notNull())
    .addColumn('link', text)
    .addColumn('at_ms', 'bigint', (column) => column.notNull())
    .addColumn('mailed_at_ms', 'bigint')
    .addColumn('called_at_ms', 'bigint')
    .addColumn('seen_at_ms', 'bigint')
    .addColumn('seen_by', text)
    .execute();
  await sql`create index notices_newest on notices (at_ms, id)`.execute(db);
};
