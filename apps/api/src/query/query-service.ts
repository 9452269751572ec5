import { mkdirSync } from 'node:fs';
import {
  type AnalystAskMessage,
  FRAME,
  QUERY_FORMATS,
  type QueryFormat,
  type QueryRequest,
  type QueryStatus,
  TallybayError,
} from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import type { RuleSet } from '@tallybay/risk';
import type { Logger } from 'pino';
import { QueryPool } from './engine/query-pool.js';
import { QueryRuns, type Run } from './engine/query-runs.js';
import { QueryLimitSettings } from './query-limits.js';
import { ReferenceExport } from './reference/reference-export.js';

export interface QueryParts {
  registry: Registry;
  lakeDirectory: string;
  resultsDirectory: string;
  rules: () => Promise<RuleSet>;
  log: Logger;
  nowMs: () => number;
  options: { processes: number; threads: number; memoryMb: number };
}

/** An answer that has begun: its first bytes are there, so nothing can be wrong with the statement any more. */
export interface StreamedAnswer {
  id: string;
  format: QueryFormat;
  type: string;
  bytes: AsyncGenerator<Buffer>;
}

/** Analysts' questions: who may how much, fresh reference tables, a process, the bytes of the answer. */
export class QueryService {
  readonly limits: QueryLimitSettings;
  readonly runs: QueryRuns;
  readonly reference: ReferenceExport;
  private readonly pool: QueryPool;

  constructor(parts: QueryParts) {
    mkdirSync(parts.resultsDirectory, { recursive: true });
    const { lakeDirectory: lake, resultsDirectory: results } = parts;
    this.pool = new QueryPool({ lake, results, ...parts.options });
    this.runs = new QueryRuns(this.pool, parts.log, parts.nowMs);
    this.limits = new QueryLimitSettings(parts.registry);
    this.reference = new ReferenceExport(parts);
  }

  /** Has a process ready before the first question. */
  async start(): Promise<void> {
    await this.pool.warm();
  }

  close(): Promise<void> {
    return this.pool.close();
  }

  get counts() {
    return this.pool.counts;
  }

  /** @throws TallybayError what is wrong with the statement, before any byte is sent */
  async answer(
    request: QueryRequest,
    person: string,
    format: QueryFormat,
    requestId?: string,
  ): Promise<StreamedAnswer> {
    await this.reference.refresh(request.sql, request.fresh ?? false);
    const { sql, parameters, shape, explain } = request;
    const limits = await this.limits.of(person);
    const maxRows = Math.min(request.maxRows ?? limits.rows, limits.rows);
    return this.begin({
      id: request.id ?? this.runs.newId(undefined),
      person,
      limits,
      requestId,
      ask: { sql, parameters, shape, explain, format, maxRows },
    });
  }

  /** A kept answer in any format. */
  async stored(
    file: string,
    person: string,
    format: QueryFormat,
    shape?: 'arrays' | 'objects',
  ): Promise<StreamedAnswer> {
    const limits = await this.limits.of(person);
    const ask: AnalystAskMessage = { sql: '', format, shape, maxRows: limits.rows, resultFile: file };
    return this.begin({ id: this.runs.newId(undefined), person, limits, ask });
  }

  status(id: string): QueryStatus {
    const status = this.runs.status(id);
    if (status) return status;
    throw new TallybayError('record_unknown', `There is no query ${id}`, {
      advice: 'Only queries of the last while are known.',
    });
  }

  cancel(id: string): void {
    this.status(id);
    this.runs.cancel(id);
  }

  private async begin(run: Run): Promise<StreamedAnswer> {
    const frames = this.runs.frames(run);
    const first = await frames.next();
    if (first.done || first.value.kind !== FRAME.columns)
      throw new TallybayError('internal', 'The query process did not say what the columns are');
    const { format } = run.ask;
    return { id: run.id, format, type: QUERY_FORMATS[format], bytes: bytesOf(frames) };
  }
}

async function* bytesOf(frames: AsyncGenerator<{ kind: number; body: Buffer }>): AsyncGenerator<Buffer> {
  for await (const frame of frames) if (frame.kind === FRAME.bytes) yield frame.body;
}
