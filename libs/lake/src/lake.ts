import type { DuckDBConnection, DuckDBInstance, DuckDBValue } from '@duckdb/node-api';
import type { z } from 'zod';
import { COUNTED_TABLES_SQL } from './counted/counted-tables.js';
import { fileView } from './counted/recorded-views.js';
import { quoteIdentifier } from './sql.js';
import { LAKE_TABLES, type LakeTable } from './tables.js';
import { filesSql, foundMore, isByPattern, type TableFiles } from './upkeep/files-sql.js';
import { steadily, type WithheldNow, withheldStamp } from './upkeep/withheld.js';

export type SqlParameters = Record<string, DuckDBValue>;

/**
 * Reads the lake with DuckDB: one view a table, over the Parquet files that are there and count when a query starts.
 */
export class Lake {
  /** When the views were made. */
  private madeAt: WithheldNow | null = null;
  /** Tables whose files DuckDB lists itself, when it binds a statement. */
  private byPattern: TableFiles[] = [];

  private constructor(
    readonly directory: string,
    private readonly instance: DuckDBInstance,
    private readonly connection: DuckDBConnection,
    private readonly shown: { tables: readonly LakeTable[]; vehicle?: string | readonly string[] | undefined },
  ) {}

  /**
   * @param options.threads DuckDB threads; `memoryLimit` such as `1GB`
   * @param options.tables only views of these tables, for a question that needs no others: each view looks at its files
   * @param options.vehicle only this vehicle's files (or these vehicles'), so that questions about one do not open the fleet's
   */
  static async open(
    directory: string,
    options: {
      threads?: number;
      memoryLimit?: string;
      vehicle?: string | readonly string[];
      tables?: readonly LakeTable[];
    } = {},
  ): Promise<Lake> {
    // Loaded on first use: processes that only write the lake never pay for the 70 MB library.
    const duckdb = await import('@duckdb/node-api');
    const instance = await duckdb.DuckDBInstance.create(':memory:', {
      ...(options.threads ? { threads: String(options.threads) } : {}),
      ...(options.memoryLimit ? { memory_limit: options.memoryLimit } : {}),
    });
    const connection = await instance.connect();
    await connection.run("SET TimeZone = 'UTC'");
    await connection.run(COUNTED_TABLES_SQL);
    const tables = options.tables ?? (Object.keys(LAKE_TABLES) as LakeTable[]);
    const lake = new Lake(directory, instance, connection, { tables, vehicle: options.vehicle });
    await lake.look();
    return lake;
  }

  /** Runs one statement, materialises it, checks every row against `row`. Timestamps arrive as the row schema asks (select epoch_ms(at) for numbers). */
  async query<T>(sql: string, row: z.ZodType<T>, parameters: SqlParameters = {}): Promise<T[]> {
    const reader = await this.read(sql, parameters);
    return reader.getRowObjectsJS().map((object) => row.parse(plain(object)));
  }

  /** The same without a check of every row, column by column: for long columns of numbers. Materialises. */
  async columns(sql: string, parameters: SqlParameters = {}): Promise<(number | null)[][]> {
    const reader = await this.read(sql, parameters);
    return reader.getColumnsJS() as (number | null)[][];
  }

  async run(sql: string, parameters: SqlParameters = {}): Promise<void> {
    await this.connection.run(sql, parameters);
  }

  /** Puts rows of texts (VARCHAR) and numbers (DOUBLE) into a table of this connection in place of those it has. */
  async replaceRows(table: string, rows: readonly (readonly (string | number | null)[])[]): Promise<void> {
    await this.connection.run(`DELETE FROM ${quoteIdentifier(table)}`);
    const appender = await this.connection.createAppender(table);
    for (const row of rows) {
      for (const value of row) {
        if (value === null) appender.appendNull();
        else if (typeof value === 'string') appender.appendVarchar(value);
        else appender.appendDouble(value);
      }
      appender.endRow();
    }
    appender.closeSync();
  }

  private async read(sql: string, parameters: SqlParameters) {
    await this.look();
    const read = await this.connection.runAndReadAll(sql, parameters);
    if (!this.madeAt || !foundMore(this.directory, this.byPattern, this.madeAt)) return read;
    await this.look(true);
    return this.connection.runAndReadAll(sql, parameters);
  }

  /** Makes the views anew if other files count by now. */
  private async look(byName = false): Promise<void> {
    // Files named one by one are looked up each time: others may have come.
    const isByPatternOnly = this.byPattern.length === this.shown.tables.length;
    if (!byName && isByPatternOnly && withheldStamp(this.directory) === this.madeAt?.stamp) return;
    const all = this.files.map((files) => ({ ...files, byName }));
    const made = steadily(this.directory, (withheld) => ({
      withheld,
      byPattern: all.filter((files) => isByPattern(files, withheld.files)),
      views: all.map((files) => viewSql(files, fileView(this, files.table), withheld.files)),
    }));
    for (const view of made.views) await this.connection.run(view);
    this.madeAt = made.withheld;
    this.byPattern = made.byPattern;
  }

  private get files(): TableFiles[] {
    const { tables, vehicle } = this.shown;
    const vehicles = vehicle === undefined ? undefined : [vehicle].flat();
    return tables.map((table) => ({ lake: this.directory, table, vehicles }));
  }

  close(): void {
    this.connection.closeSync();
    this.instance.closeSync();
  }
}

/** `CREATE VIEW` for one table, by its name or another. */
function viewSql(files: TableFiles, name: string, withheld: ReadonlySet<string>): string {
  const columns = LAKE_TABLES[files.table].map((column) => quoteIdentifier(column.name)).join(', ');
  const from = `read_parquet(${filesSql(files, withheld)}, union_by_name = true)`;
  return `CREATE OR REPLACE VIEW ${quoteIdentifier(name)} AS SELECT ${columns} FROM ${from}`;
}

/** bigint -> number where exact, so that row schemas can say z.number(). */
function plain(object: Record<string, unknown>): Record<string, unknown> {
  for (const key of Object.keys(object)) {
    const value = object[key];
    if (
      typeof value === 'bigint' &&
      value >= BigInt(Number.MIN_SAFE_INTEGER) &&
      value <= BigInt(Number.MAX_SAFE_INTEGER)
    )
      object[key] = Number(value);
  }
  return object;
}
