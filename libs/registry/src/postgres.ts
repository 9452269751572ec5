import { type Driver, PostgresDialect } from 'kysely';
import pg from 'pg';
import { ClassifyingDriver } from './classifying-driver.js';

const CONNECT_TIMEOUT_MS = 5_000;
const MAX_CONNECTIONS = 10;
/** pg_type.oid of bigint. All our bigints are epoch milliseconds and byte counts, exact as numbers. */
const BIGINT_OID = 20;

/** Kysely's dialect over a pool of PostgreSQL connections; bigint arrives as number, as SQLite gives it. */
export class PoolDialect extends PostgresDialect {
  /** @param onIdleError told when a connection that nobody uses is lost; the pool replaces it on the next call */
  constructor(url: string, onIdleError: (error: Error) => void) {
    const pool = new pg.Pool({
      connectionString: url,
      max: MAX_CONNECTIONS,
      connectionTimeoutMillis: CONNECT_TIMEOUT_MS,
      types: {
        getTypeParser: ((oid: number, format?: 'text' | 'binary') =>
          oid === BIGINT_OID ? Number : pg.types.getTypeParser(oid, format as 'text')) as typeof pg.types.getTypeParser,
      },
    });
    // Without a listener a lost idle connection would end the process.
    pool.on('error', onIdleError);
    super({ pool });
  }

  override createDriver(): Driver {
    return new ClassifyingDriver(super.createDriver());
  }
}
