import { TallybayError } from '@tallybay/contracts';
import { sql } from 'kysely';
import type { RegistryDatabase } from './schema.js';

/** A record with the number of its last change: send it back with an edit and a lost update becomes an `edit_conflict`. */
export type Versioned<T> = T & { version: number };

export interface PutOptions {
  /** The version that the edit was made against; 0 = must not exist yet; omitted = whatever is there is replaced. */
  expectedVersion?: number;
}

interface VersionedTarget {
  table: 'depots' | 'vehicles' | 'profiles' | 'questions' | 'settings';
  key: string;
  /** What the table's rows are called in messages. */
  noun: string;
}

/**
 * Inserts or changes one row in one statement and counts its version up, so that two editors cannot both win.
 * @param row column -> value, with the key and without the version
 * @returns the new version
 * @throws TallybayError `edit_conflict`
 */
export async function putVersioned(
  db: RegistryDatabase,
  target: VersionedTarget,
  row: Record<string, string | number | null>,
  { expectedVersion }: PutOptions,
): Promise<number> {
  const statement =
    expectedVersion === undefined || expectedVersion === 0
      ? insertOr(target, row, expectedVersion === undefined ? 'change' : 'nothing')
      : sql<{
          version: number;
        }>`update ${sql.table(target.table)} set ${assignments(target, row)}, version = version + 1
          where ${sql.ref(target.key)} = ${row[target.key]} and version = ${expectedVersion} returning version`;
  const written = (await statement.execute(db)).rows[0];
  if (written) return written.version;
  throw await conflict(db, target, row[target.key], expectedVersion ?? 0);
}

function insertOr(
  target: VersionedTarget,
  row: Record<string, string | number | null>,
  onConflict: 'change' | 'nothing',
) {
  const columns = sql.join(Object.keys(row).map((name) => sql.ref(name)));
  const values = sql.join(Object.values(row));
  const table = sql.table(target.table);
  const otherwise =
    onConflict === 'nothing'
      ? sql`do nothing`
      : sql`do update set ${assignments(target, row)}, version = ${table}.version + 1`;
  return sql<{ version: number }>`insert into ${table} (${columns}, version) values (${values}, 1)
    on conflict (${sql.ref(target.key)}) ${otherwise} returning version`;
}

function assignments(target: VersionedTarget, row: Record<string, string | number | null>) {
  const changed = Object.entries(row).filter(([name]) => name !== target.key);
  return sql.join(changed.map(([name, value]) => sql`${sql.ref(name)} = ${value}`));
}

async function conflict(db: RegistryDatabase, target: VersionedTarget, key: unknown, expected: number) {
  const found = await sql<{ version: number }>`select version from ${sql.table(target.table)}
    where ${sql.ref(target.key)} = ${key}`.execute(db);
  const current = found.rows[0]?.version;
  const is = current === undefined ? 'does not exist (any more)' : `is at version ${current}`;
  const was = expected === 0 ? 'expected it not to exist yet' : `was made against version ${expected}`;
  return new TallybayError('edit_conflict', `The ${target.noun} ${String(key)} ${is}; the change ${was}`, {
    advice: `Read the ${target.noun} again and repeat the change on what it is now`,
  });
}
