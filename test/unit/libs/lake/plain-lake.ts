import { type DuckDBConnection, DuckDBInstance } from '@duckdb/node-api';
import { lakeSql } from '@tallybay/lake';
import { onTestFinished } from 'vitest';

/** The lake as the plain DuckDB command line has it, opened by `lake.sql`; closed when the test is over. */
export async function openPlainLake(lake: string): Promise<DuckDBConnection> {
  const instance = await DuckDBInstance.create(':memory:', { threads: '1' });
  const connection = await instance.connect();
  onTestFinished(() => {
    connection.closeSync();
    instance.closeSync();
  });
  await connection.run(lakeSql(lake));
  return connection;
}
