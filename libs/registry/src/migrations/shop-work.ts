import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/**
 * Inspections and the visits that hold them; one row of `work_board` counts every change of the plan, so that two planners
 * notice each other. Cancelled visits stay: calendars that know them must be told.
 */
export const shopWork: Migration = async (db, { text }) => {
  await db.schema
    .createTable('work_inspections')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('vehicle', text, (column) => column.notNull())
    .addColumn('kind', text, (column) => column.notNull())
    .addColumn('state', text, (column) => column.notNull())
    .addColumn('visit', text)
    .addColumn('document', text, (column) => column.notNull())
    .addColumn('note', text)
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .execute();
  await db.schema
    .createTable('work_visits')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('vehicle', text, (column) => column.notNull())
    .addColumn('depot', text, (column) => column.notNull())
    .addColumn('bay', text, (column) => column.notNull())
    .addColumn('day', text, (column) => column.notNull())
    .addColumn('last_day', text, (column) => column.notNull())
    .addColumn('state', text, (column) => column.notNull())
    .addColumn('pinned', 'integer', (column) => column.notNull())
    .addColumn('sequence', 'integer', (column) => column.notNull())
    .addColumn('document', text, (column) => column.notNull())
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('created_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('updated_by', text)
    .addColumn('cancelled_at_ms', 'bigint')
    .addColumn('done_at_ms', 'bigint')
    .execute();
  await sql`create index work_inspections_by_vehicle on work_inspections (vehicle, kind, updated_at_ms)`.execute(db);
  await sql`create index work_visits_by_day on work_visits (day, bay)`.execute(db);
  await sql`create index work_visits_by_vehicle on work_visits (vehicle, day)`.execute(db);
  await db.schema
    .createTable('work_board')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('report', text)
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('updated_by', text)
    .execute();
};
