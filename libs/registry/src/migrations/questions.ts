import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/** Analysts' saved questions, and answers that were kept. */
export const questions: Migration = async (db, { text }) => {
  await db.schema
    .createTable('questions')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('owner', text, (column) => column.notNull())
    .addColumn('document', text, (column) => column.notNull())
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .execute();
  await db.schema
    .createTable('query_results')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('question', text)
    .addColumn('name', text)
    .addColumn('statement', text, (column) => column.notNull())
    .addColumn('person', text, (column) => column.notNull())
    .addColumn('made_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('row_count', 'bigint', (column) => column.notNull())
    .addColumn('bytes', 'bigint', (column) => column.notNull())
    .addColumn('truncated', 'integer', (column) => column.notNull())
    .addColumn('problem', text)
    .execute();
  await sql`create index query_results_by_question on query_results (question, made_at_ms)`.execute(db);
};
