import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/** Changes of visits that have not been told yet, a row for each way of telling; told rows go. */
export const visitNews: Migration = async (db, { text }) => {
  await db.schema
    .createTable('visit_news')
    .addColumn('way', text, (column) => column.notNull())
    .addColumn('visit', text, (column) => column.notNull())
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('board_version', 'integer', (column) => column.notNull())
    .addColumn('position', 'integer', (column) => column.notNull())
    .addColumn('event', text, (column) => column.notNull())
    .addColumn('at_ms', 'bigint', (column) => column.notNull())
    .addPrimaryKeyConstraint('visit_news_key', ['way', 'visit', 'version'])
    .execute();
  await sql`create index visit_news_in_order on visit_news (way, board_version, position)`.execute(db);
};
