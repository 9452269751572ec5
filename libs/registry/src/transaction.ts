import type { RegistryDatabase } from './schema.js';

/** Runs the work in the transaction that is already open, else in one of its own. */
export function inTransaction<T>(
  db: RegistryDatabase,
  work: (transaction: RegistryDatabase) => Promise<T>,
): Promise<T> {
  return db.isTransaction ? work(db) : db.transaction().execute(work);
}
