import { randomUUID } from 'node:crypto';
import {
  type AnalystAskMessage,
  classifyError,
  endFrameSchema,
  FRAME,
  type QueryLimits,
  type QueryStatus,
  TallybayError,
} from '@tallybay/contracts';
import { type OpenSpan, openSpan } from '@tallybay/trace';
import type { Logger } from 'pino';
import type { Frame } from './frames.js';
import type { QueryPool } from './query-pool.js';

/** Finished queries whose status can still be asked. */
const KEPT = 500;

export interface Run {
  id: string;
  person: string;
  limits: QueryLimits;
  ask: AnalystAskMessage;
  /** Of the HTTP request that asked, for the log; a scheduled question has none. */
  requestId?: string | undefined;
}

/** Numbers since the start, for the metrics. */
export interface RunTotals {
  done: number;
  failed: number;
  cancelled: number;
  seconds: number;
  bytes: number;
}

interface Kept {
  status: QueryStatus;
  startedMs: number;
  abort: AbortController;
}

/** Every query that runs or has run lately: starts it, counts it, cancels it. */
export class QueryRuns {
  private readonly kept = new Map<string, Kept>();
  readonly totals: RunTotals = { done: 0, failed: 0, cancelled: 0, seconds: 0, bytes: 0 };

  constructor(
    private readonly pool: QueryPool,
    private readonly log: Logger,
    private readonly nowMs: () => number,
  ) {}

  status(id: string): QueryStatus | null {
    return this.kept.get(id)?.status ?? null;
  }

  /** @returns false when there is no such query, or it is over */
  cancel(id: string): boolean {
    const found = this.kept.get(id);
    if (!found || (found.status.state !== 'running' && found.status.state !== 'waiting')) return false;
    found.abort.abort();
    return true;
  }

  newId(wanted: string | undefined): string {
    if (wanted === undefined) return randomUUID();
    if (!this.kept.has(wanted)) return wanted;
    throw new TallybayError('body_invalid', `There is a query ${wanted} already`, {
      advice: 'Choose another id, or leave it to the service.',
      place: { field: 'id' },
    });
  }

  /**
   * Frames of the answer. Whoever stops reading early (a client that hung up) ends the query as `cancel` does.
   * @throws TallybayError as the statement, its limits, or a cancel have it
   */
  frames(run: Run): AsyncGenerator<Frame> {
    // Opened here, within the request: what reads a generator later need not be.
    const span = openSpan('query', { attributes: { 'tallybay.query.id': run.id, 'db.query.text': run.ask.sql } });
    return this.framesWithin(run, span);
  }

  private async *framesWithin(run: Run, span: OpenSpan): AsyncGenerator<Frame> {
    const kept = this.keep(run);
    const { status } = kept;
    try {
      for await (const frame of this.seated(run, kept)) {
        if (frame.kind === FRAME.bytes) status.bytes += frame.body.length;
        if (frame.kind === FRAME.end) Object.assign(status, outcomeOf(frame));
        yield frame;
      }
      status.state = 'done';
      span.set({ 'tallybay.query.rows': status.rows ?? 0, 'tallybay.query.bytes': status.bytes });
    } catch (thrown) {
      const error = classifyError(thrown);
      status.state = error.code === 'query_cancelled' ? 'cancelled' : 'failed';
      const { advice } = error.options;
      status.problem = { code: error.code, detail: error.message, ...(advice === undefined ? {} : { advice }) };
      span.end(error);
      throw error;
    } finally {
      span.end();
      this.finish(run, kept);
    }
  }

  private async *seated(run: Run, { status, abort }: Kept): AsyncGenerator<Frame> {
    const { memoryMb, atOnce, seconds } = run.limits;
    const seat = { person: run.person, memoryMb, atOnce, signal: abort.signal };
    const child = await this.pool.acquire(seat);
    const onAbort = () => child.end('cancelled');
    let isClean = false;
    try {
      if (abort.signal.aborted) throw new TallybayError('query_cancelled', 'The query was cancelled', {});
      abort.signal.addEventListener('abort', onAbort);
      status.state = 'running';
      yield* child.answer(run.ask, seconds);
      isClean = true;
    } catch (error) {
      // The statement was at fault and the process said so itself: it is as good as before.
      isClean = error instanceof TallybayError && (error.code === 'query_invalid' || error.code === 'query_refused');
      throw error;
    } finally {
      abort.signal.removeEventListener('abort', onAbort);
      this.pool.release(child, seat, isClean);
    }
  }

  private keep(run: Run): Kept {
    const startedMs = this.nowMs();
    const status: QueryStatus = {
      ...{ id: run.id, person: run.person, state: 'waiting', startedAt: new Date(startedMs).toISOString(), seconds: 0 },
      ...{ rows: null, bytes: 0, truncated: false, problem: null },
    };
    const kept = { status, startedMs, abort: new AbortController() };
    this.kept.set(run.id, kept);
    for (const [id, old] of this.kept) {
      if (this.kept.size <= KEPT) break;
      if (old.status.state !== 'running' && old.status.state !== 'waiting') this.kept.delete(id);
    }
    return kept;
  }

  private finish(run: Run, { status, startedMs }: Kept): void {
    status.seconds = (this.nowMs() - startedMs) / 1000;
    if (status.state === 'running' || status.state === 'waiting') status.state = 'cancelled';
    this.totals[status.state as 'done' | 'failed' | 'cancelled']++;
    this.totals.seconds += status.seconds;
    this.totals.bytes += status.bytes;
    const { id, person, state, seconds, rows, bytes, truncated } = status;
    const code = status.problem?.code;
    const { requestId } = run;
    this.log.info(
      { requestId, query: id, person, state, seconds, rows, bytes, truncated, code, sql: run.ask.sql },
      'query',
    );
  }
}

const outcomeOf = (frame: Frame): { rows: number; truncated: boolean } =>
  endFrameSchema.parse(JSON.parse(frame.body.toString('utf8')));
