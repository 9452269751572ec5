import type { CompiledQuery, DatabaseConnection, Driver, QueryResult, TransactionSettings } from 'kysely';
import { registryErrorFrom } from './registry-error.js';

/** Passes everything on, and turns what the database throws into our errors in one place. */
export class ClassifyingDriver implements Driver {
  /** Kysely knows connections by identity, so each inner one always gets the same wrapper; the inner driver gets its own back. */
  private readonly wrapped = new WeakMap<DatabaseConnection, ClassifyingConnection>();

  constructor(private readonly inner: Driver) {}

  init(): Promise<void> {
    return classified(this.inner.init());
  }

  async acquireConnection(): Promise<DatabaseConnection> {
    const inner = await classified(this.inner.acquireConnection());
    const known = this.wrapped.get(inner);
    if (known) return known;
    const connection = new ClassifyingConnection(inner);
    this.wrapped.set(inner, connection);
    return connection;
  }

  beginTransaction(connection: DatabaseConnection, settings: TransactionSettings): Promise<void> {
    return classified(this.inner.beginTransaction(innermost(connection), settings));
  }

  commitTransaction(connection: DatabaseConnection): Promise<void> {
    return classified(this.inner.commitTransaction(innermost(connection)));
  }

  rollbackTransaction(connection: DatabaseConnection): Promise<void> {
    return classified(this.inner.rollbackTransaction(innermost(connection)));
  }

  releaseConnection(connection: DatabaseConnection): Promise<void> {
    return this.inner.releaseConnection(innermost(connection));
  }

  destroy(): Promise<void> {
    return this.inner.destroy();
  }
}

class ClassifyingConnection implements DatabaseConnection {
  constructor(readonly inner: DatabaseConnection) {}

  executeQuery<R>(query: CompiledQuery): Promise<QueryResult<R>> {
    return classified(this.inner.executeQuery<R>(query));
  }

  streamQuery<R>(query: CompiledQuery, chunkSize: number): AsyncIterableIterator<QueryResult<R>> {
    return this.inner.streamQuery<R>(query, chunkSize);
  }
}

const innermost = (connection: DatabaseConnection): DatabaseConnection =>
  connection instanceof ClassifyingConnection ? connection.inner : connection;

async function classified<T>(work: Promise<T>): Promise<T> {
  try {
    return await work;
  } catch (error) {
    throw registryErrorFrom(error);
  }
}
