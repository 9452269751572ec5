import { sql } from 'kysely';
import type { Migration } from '../migrations.js';

/**
 * Depots, vehicles, recorder assignments. `types.text` compares by bytes on both databases, so that ids and ISO weeks sort alike.
 * Assignments name their vehicle without a foreign key on purpose: removing a vehicle must not make an older assignment of
 * the same recorder come into force again.
 */
export const fleet: Migration = async (db, { text }) => {
  await db.schema
    .createTable('depots')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('name', text, (column) => column.notNull())
    .addColumn('time_zone', text, (column) => column.notNull())
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .execute();

  await db.schema
    .createTable('vehicles')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('name', text)
    .addColumn('vin', text, (column) => column.unique())
    .addColumn('vehicle_class', text, (column) => column.notNull())
    .addColumn('depot', text, (column) => column.notNull().references('depots.id'))
    .addColumn('model_year', 'integer')
    .addColumn('fuel', text)
    .addColumn('inspection_due', text)
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .execute();

  await db.schema
    .createTable('recorder_assignments')
    .addColumn('recorder', text, (column) => column.notNull())
    .addColumn('from_ms', 'bigint', (column) => column.notNull())
    .addColumn('vehicle', text, (column) => column.notNull())
    .addPrimaryKeyConstraint('recorder_assignments_key', ['recorder', 'from_ms'])
    .execute();
};

/** What people edit as documents: profiles by recorder, settings by name with every version kept. */
export const documents: Migration = async (db, { text }) => {
  await db.schema
    .createTable('profiles')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('recorder', text, (column) => column.notNull().unique())
    .addColumn('document', text, (column) => column.notNull())
    .addColumn('version', 'integer', (column) => column.notNull())
    .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
    .execute();

  for (const table of ['settings', 'settings_history'] as const) {
    await db.schema
      .createTable(table)
      .addColumn('name', text, (column) => column.notNull())
      .addColumn('document', text, (column) => column.notNull())
      .addColumn('version', 'integer', (column) => column.notNull())
      .addColumn('updated_at_ms', 'bigint', (column) => column.notNull())
      .addColumn('updated_by', text)
      .addPrimaryKeyConstraint(`${table}_key`, table === 'settings' ? ['name'] : ['name', 'version'])
      .execute();
  }
};

/** Who runs a job, and which ISO weeks it has finished. */
export const jobs: Migration = async (db, { text }) => {
  await db.schema
    .createTable('job_leases')
    .addColumn('name', text, (column) => column.primaryKey())
    .addColumn('owner', text, (column) => column.notNull())
    .addColumn('started_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('expires_at_ms', 'bigint', (column) => column.notNull())
    .execute();

  await db.schema
    .createTable('job_weeks')
    .addColumn('job', text, (column) => column.notNull())
    .addColumn('week', text, (column) => column.notNull())
    .addColumn('from_ms', 'bigint', (column) => column.notNull())
    .addColumn('to_ms', 'bigint', (column) => column.notNull())
    .addColumn('started_at_ms', 'bigint', (column) => column.notNull())
    .addPrimaryKeyConstraint('job_weeks_key', ['job', 'week'])
    .execute();
};

/** Uploads with the indexes for listing newest first, by state, and by what they cover. */
export const uploads: Migration = async (db, { text }) => {
  await db.schema
    .createTable('uploads')
    .addColumn('id', text, (column) => column.primaryKey())
    .addColumn('kind', text, (column) => column.notNull())
    .addColumn('state', text, (column) => column.notNull())
    .addColumn('vehicle', text)
    .addColumn('recorder', text)
    .addColumn('file_name', text)
    .addColumn('bytes', 'bigint', (column) => column.notNull())
    .addColumn('sha256', text, (column) => column.notNull())
    .addColumn('received_at_ms', 'bigint', (column) => column.notNull())
    .addColumn('stored_at_ms', 'bigint')
    .addColumn('first_at_ms', 'bigint')
    .addColumn('last_at_ms', 'bigint')
    .addColumn('chunks', 'integer', (column) => column.notNull())
    .addColumn('decoded', 'integer', (column) => column.notNull())
    .addColumn('decisions', text, (column) => column.notNull())
    .addColumn('counts', text)
    .addColumn('unmapped', text, (column) => column.notNull())
    .addColumn('problem', text)
    .addColumn('landing_file', text)
    .addColumn('plan', text)
    .addColumn('attempt', 'integer', (column) => column.notNull())
    .addColumn('catalogue_version', text)
    .addUniqueConstraint('uploads_content', ['kind', 'sha256'])
    .execute();
  const indexes = {
    uploads_newest: ['received_at_ms', 'id'],
    uploads_by_state: ['state', 'received_at_ms', 'id'],
    uploads_by_vehicle: ['vehicle', 'received_at_ms', 'id'],
    uploads_by_last: ['last_at_ms'],
  };
  for (const [name, columns] of Object.entries(indexes)) {
    await sql`create index ${sql.ref(name)} on uploads (${sql.join(columns.map((column) => sql.ref(column)))})`.execute(
      db,
    );
  }
};
