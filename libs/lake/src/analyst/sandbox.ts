import type { DuckDBConnection, DuckDBInstance, DuckDBPreparedStatement, DuckDBResult } from '@duckdb/node-api';
import { type QueryFormat, type QueryParameters, TallybayError } from '@tallybay/contracts';
import { referenceFile } from '../layout.js';
import { quoteText } from '../sql.js';
import { filesSql, foundMore, isByPattern, type TableFiles } from '../upkeep/files-sql.js';
import { steadily } from '../upkeep/withheld.js';
import { ChunkReader } from './chunk-reader.js';
import { BLOCK_ROWS, encoderFor } from './encoders.js';
import { bindParameters } from './parameters.js';
import { BlockBuilder, type ResultColumn, resultColumns } from './result-columns.js';
import { queryProblem } from './sandbox-problem.js';
import { checkSqlText, checkStatement, type SerializedSql } from './statement-check.js';
import { analystViewSql, type FilesSql } from './view-sql.js';
import { ANALYST_VIEW } from './views.js';

export interface SandboxOptions {
  /** The lake; the only folder besides `results` that any statement can reach. */
  lake: string;
  /** Folder of kept answers. */
  results: string;
  threads: number;
  /** DuckDB's own limit; below that of the operating system, so that most queries fail with a sentence. */
  memoryMb: number;
}

export interface AnalystAsk {
  sql: string;
  parameters?: QueryParameters | undefined;
  format: QueryFormat;
  shape?: 'arrays' | 'objects' | undefined;
  maxRows: number;
  explain?: 'plan' | 'analyze' | undefined;
  /** Read this kept answer (a Parquet file) instead of running `sql`. */
  resultFile?: string | undefined;
}

export type AnswerPart =
  | { kind: 'columns'; columns: ResultColumn[] }
  | { kind: 'bytes'; bytes: Uint8Array[]; rows: number }
  | { kind: 'end'; rows: number; truncated: boolean };

/** In this order: after the last one nothing can be changed any more, not even by us. */
const WALLS = (folders: readonly string[]): string[] => [
  "SET TimeZone = 'UTC'",
  'SET autoinstall_known_extensions = false',
  'SET autoload_known_extensions = false',
  'SET allow_community_extensions = false',
  'SET allow_persistent_secrets = false',
  "SET temp_directory = ''",
  'SET parquet_metadata_cache = true',
  'SET max_expression_depth = 400',
  // The default of a megabyte stops DuckDB's threads at every second block.
  "SET streaming_buffer_size = '8MB'",
  `SET allowed_directories = [${folders.map((folder) => quoteText(`${folder}/`)).join(', ')}]`,
  'SET enable_external_access = false',
  'SET lock_configuration = true',
];

/**
 * A DuckDB for one analyst's statement at a time, behind DuckDB's own walls and the check of the parsed statement. It must run
 * in a process of its own with limits by the operating system: neither wall is one against memory or time.
 */
export class AnalystSandbox {
  private constructor(
    private readonly options: SandboxOptions,
    private readonly instance: DuckDBInstance,
    private readonly checker: DuckDBPreparedStatement,
  ) {}

  static async open(options: SandboxOptions): Promise<AnalystSandbox> {
    const { DuckDBInstance } = await import('@duckdb/node-api');
    const instance = await DuckDBInstance.create(':memory:', {
      threads: String(options.threads),
      memory_limit: `${options.memoryMb}MB`,
    });
    const connection = await instance.connect();
    for (const wall of WALLS([options.lake, options.results])) await connection.run(wall);
    const checker = await connection.prepare('SELECT json_serialize_sql($1::VARCHAR)');
    return new AnalystSandbox(options, instance, checker);
  }

  /** @throws TallybayError `query_refused`, `query_invalid`, `query_limit` */
  async *answer(ask: AnalystAsk): AsyncGenerator<AnswerPart> {
    const connection = await this.instance.connect();
    try {
      yield* this.run(connection, ask);
    } catch (error) {
      throw queryProblem(error);
    } finally {
      connection.closeSync();
    }
  }

  /** Checks without running. @throws as `answer` */
  async check(sql: string): Promise<{ views: string[]; parameters: string[] }> {
    checkSqlText(sql);
    this.checker.bind([sql]);
    const [row] = (await this.checker.runAndReadAll()).getRows();
    return checkStatement(JSON.parse(String(row?.[0])) as SerializedSql, new Set(ANALYST_VIEW.keys()));
  }

  private async *run(connection: DuckDBConnection, ask: AnalystAsk): AsyncGenerator<AnswerPart> {
    const chunks = new ChunkReader(await this.started(connection, ask));
    try {
      yield* this.encoded(chunks, ask);
    } finally {
      // The connection must not be closed under a chunk that is on its way.
      await chunks.settle();
    }
  }

  private async *encoded(chunks: ChunkReader, ask: AnalystAsk): AsyncGenerator<AnswerPart> {
    const { result } = chunks;
    const columns = resultColumns(result.columnNames(), result.columnTypes());
    const encoder = await encoderFor(ask.format, ask.shape ?? 'arrays');
    const builder = new BlockBuilder(columns, BLOCK_ROWS[ask.format]);
    yield { kind: 'columns', columns };
    yield { kind: 'bytes', bytes: encoder.start(columns), rows: 0 };
    let rows = 0;
    let truncated = false;
    for (;;) {
      const chunk = await chunks.next();
      if (!chunk) break;
      const wanted = Math.min(chunk.rowCount, ask.maxRows - rows);
      truncated = wanted < chunk.rowCount;
      for (let from = 0; from < wanted; ) {
        const count = Math.min(wanted - from, builder.room);
        builder.take(chunk, from, count);
        from += count;
        if (builder.room === 0) yield { kind: 'bytes', bytes: encoder.block(builder.drain()), rows: rows + from };
      }
      rows += wanted;
      if (truncated) break;
    }
    if (!builder.isEmpty) yield { kind: 'bytes', bytes: encoder.block(builder.drain()), rows };
    yield { kind: 'bytes', bytes: encoder.end({ rows, truncated }), rows };
    yield { kind: 'end', rows, truncated };
  }

  /** By then DuckDB has listed the files of the statement. */
  private async started(connection: DuckDBConnection, ask: AnalystAsk): Promise<DuckDBResult> {
    if (ask.resultFile) return connection.stream(`SELECT * FROM read_parquet(${quoteText(ask.resultFile)})`);
    const { lake } = this.options;
    const checked = await this.check(ask.sql);
    const { byPattern, withheld } = await this.makeViews(connection, checked.views);
    const result = await (await this.prepared(connection, ask, checked.parameters)).stream();
    if (!foundMore(lake, byPattern, withheld)) return result;
    await this.makeViews(connection, checked.views, true);
    return (await this.prepared(connection, ask, checked.parameters)).stream();
  }

  /** All of them over the files that count at one moment. */
  private async makeViews(connection: DuckDBConnection, names: readonly string[], byName = false) {
    const { lake } = this.options;
    const made = steadily(lake, (withheld) => {
      const byPattern: TableFiles[] = [];
      const sql: FilesSql = (source) => {
        if ('reference' in source) return quoteText(referenceFile(lake, source.reference));
        const files: TableFiles = { lake, table: source.lake, byName };
        if (isByPattern(files, withheld.files)) byPattern.push(files);
        return filesSql(files, withheld.files);
      };
      return { views: names.map((name) => analystViewSql(ANALYST_VIEW.get(name)!, sql)), byPattern, withheld };
    });
    for (const view of made.views) await connection.run(view);
    return made;
  }

  private async prepared(connection: DuckDBConnection, ask: AnalystAsk, parameters: readonly string[]) {
    const statement = await this.oneStatement(connection, ask);
    await mustRead(statement, ask.explain !== undefined);
    await bindParameters(statement, parameters, ask.parameters);
    return statement;
  }

  private async oneStatement(connection: DuckDBConnection, ask: AnalystAsk): Promise<DuckDBPreparedStatement> {
    const prefix = { plan: 'EXPLAIN ', analyze: 'EXPLAIN ANALYZE ', none: '' }[ask.explain ?? 'none'];
    const statements = await connection.extractStatements(prefix + ask.sql);
    if (statements.count !== 1)
      throw new TallybayError('query_refused', `There are ${statements.count} statements`, {
        advice: 'Send one SELECT at a time.',
      });
    return statements.prepare(0);
  }
}

/** The parser and the binder agree that it only reads; one of them alone has been wrong before. */
async function mustRead(statement: DuckDBPreparedStatement, isExplained: boolean): Promise<void> {
  const { StatementType } = await import('@duckdb/node-api');
  const wanted = isExplained ? StatementType.EXPLAIN : StatementType.SELECT;
  if (statement.statementType === wanted) return;
  throw new TallybayError('query_refused', 'Only SELECT can be run', { advice: 'Write one SELECT.' });
}
