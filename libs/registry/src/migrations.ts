import { TallybayError } from '@tallybay/contracts';
import { type Expression, sql, type Transaction } from 'kysely';
import { documents, fleet, jobs, uploads } from './migrations/first-schema.js';
import { limitsAndExtremes } from './migrations/limits-and-extremes.js';
import { notes } from './migrations/notes.js';
import { notices } from './migrations/notices.js';
import { questions } from './migrations/questions.js';
import { routes } from './migrations/routes.js';
import { shopWork } from './migrations/shop-work.js';
import { speedCorrections } from './migrations/speed-corrections.js';
import { visitNews } from './migrations/visit-news.js';
import type { RegistryDatabase, RegistryKind, RegistryTables } from './schema.js';

export type Migration = (db: Transaction<RegistryTables>, types: ColumnTypes) => Promise<void>;

interface ColumnTypes {
  text: Expression<unknown> & ReturnType<typeof sql>;
}

/** In order; a name that has been released is never changed or removed. */
const MIGRATIONS: readonly (readonly [name: string, migrate: Migration])[] = [
  ['0001-fleet', fleet],
  ['0002-documents', documents],
  ['0003-jobs', jobs],
  ['0004-uploads', uploads],
  ['0005-speed-corrections', speedCorrections],
  ['0006-notes', notes],
  ['0007-limits-and-extremes', limitsAndExtremes],
  ['0010-shop-work', shopWork],
  ['0011-notices', notices],
  ['0012-questions', questions],
  ['0013-visit-news', visitNews],
  ['0016-routes', routes],
];

/** Any fixed number: it names our lock among PostgreSQL's advisory locks. */
const MIGRATION_LOCK = 7_451_226;

/**
 * Brings the schema up to date, all missing migrations in one transaction or none. Processes that start together wait for
 * each other: on SQLite the transaction holds the write lock from its first statement, on PostgreSQL an advisory lock.
 * @throws TallybayError `registry_newer` when the registry has a migration that this program does not know
 */
export async function migrate(db: RegistryDatabase, kind: RegistryKind, nowMs: () => number): Promise<void> {
  await db.transaction().execute(async (transaction) => {
    if (kind === 'postgres') await sql`select pg_advisory_xact_lock(${MIGRATION_LOCK})`.execute(transaction);
    await createLedger(transaction, kind);
    const applied = new Set(
      (await transaction.selectFrom('registry_migrations').select('name').execute()).map((row) => row.name),
    );
    refuseNewer(applied);
    for (const [name, run] of MIGRATIONS) {
      if (applied.has(name)) continue;
      await run(transaction, columnTypes(kind));
      await transaction.insertInto('registry_migrations').values({ name, applied_at_ms: nowMs() }).execute();
    }
  });
}

async function createLedger(db: Transaction<RegistryTables>, kind: RegistryKind): Promise<void> {
  const { text } = columnTypes(kind);
  await db.schema
    .createTable('registry_migrations')
    .ifNotExists()
    .addColumn('name', text, (column) => column.primaryKey())
    .addColumn('applied_at_ms', 'bigint', (column) => column.notNull())
    .execute();
}

function refuseNewer(applied: ReadonlySet<string>): void {
  const known = new Set(MIGRATIONS.map(([name]) => name));
  const unknown = [...applied].filter((name) => !known.has(name));
  if (unknown.length === 0) return;
  throw new TallybayError(
    'registry_newer',
    `The registry has the changes ${unknown.join(', ')}, unknown to this program`,
    {
      advice: 'Start the newer Tallybay, or restore the registry from before the upgrade',
    },
  );
}

/** PostgreSQL sorts text by the database's locale unless told otherwise; SQLite always by bytes. */
function columnTypes(kind: RegistryKind): ColumnTypes {
  return { text: kind === 'postgres' ? sql`text collate "C"` : sql`text` };
}
