import { mkdirSync } from 'node:fs';
import { dirname } from 'node:path';
import { DatabaseSync, type SQLInputValue } from 'node:sqlite';
import { type Driver, type SqliteDatabase, SqliteDialect, type SqliteStatement } from 'kysely';
import { ClassifyingDriver } from './classifying-driver.js';
import { registryErrorFrom } from './registry-error.js';

/** How long a statement waits for another process's write. */
const BUSY_TIMEOUT_MS = 5_000;

/** Kysely's dialect over Node's own SQLite: one connection in this process, several processes on the file. */
export class NodeSqliteDialect extends SqliteDialect {
  constructor(file: string) {
    super({ database: async () => openDatabase(file) });
  }

  override createDriver(): Driver {
    return new ClassifyingDriver(super.createDriver());
  }
}

/**
 * WAL lets readers go on during a write; FULL syncs the log at every commit, so an acknowledged upload survives a power cut.
 * @throws TallybayError `registry_unavailable`
 */
function openDatabase(file: string): SqliteDatabase {
  try {
    mkdirSync(dirname(file), { recursive: true });
    const database = new DatabaseSync(file, { timeout: BUSY_TIMEOUT_MS, enableForeignKeyConstraints: true });
    enterWal(database);
    database.exec('pragma synchronous = full');
    return { close: () => database.close(), prepare: (sql) => statement(database, sql) };
  } catch (error) {
    throw registryErrorFrom(error);
  }
}

/** Changing the journal mode does not wait for the busy timeout when another process opens the new file at the same time. */
function enterWal(database: DatabaseSync): void {
  const deadline = performance.now() + BUSY_TIMEOUT_MS;
  const pause = new Int32Array(new SharedArrayBuffer(4));
  for (;;) {
    try {
      database.exec('pragma journal_mode = wal');
      return;
    } catch (error) {
      const busy = ((error as { errcode?: number }).errcode ?? 0) & 0xff;
      if (busy !== 5 || performance.now() > deadline) throw error;
      Atomics.wait(pause, 0, 0, 10);
    }
  }
}

/**
 * A transaction takes the write lock at once (`immediate`): one that reads first and writes later could not be continued
 * if another process wrote in between, and the busy timeout would not help it.
 */
function statement(database: DatabaseSync, sql: string): SqliteStatement {
  const prepared = database.prepare(sql === 'begin' ? 'begin immediate' : sql);
  const bind = (parameters: readonly unknown[]): SQLInputValue[] => parameters as SQLInputValue[];
  return {
    reader: prepared.columns().length > 0,
    all: (parameters) => prepared.all(...bind(parameters)),
    run: (parameters) => prepared.run(...bind(parameters)),
    iterate: (parameters) => prepared.iterate(...bind(parameters)),
  };
}
