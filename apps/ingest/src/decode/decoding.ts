import { classifyError, type ProblemDocument, TOPICS } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import type { Stream, StreamConsumer, StreamProducer } from '@tallybay/stream';
import type { LandingStore } from '../receive/landing.js';
import { DecodePool } from './decode-pool.js';
import { DecodeWorker } from './decode-worker.js';
import { LandedDecode } from './landed-decode.js';
import { LimitBook } from './limit-book.js';
import { ProgressBook } from './progress-book.js';
import { type Log, Settlement } from './settlement.js';

/** Decode workers of all processes share the partitions as this group. */
export const DECODE_GROUP = 'tallybay-decode';
export const DECODE_TOPICS = [TOPICS.logs, TOPICS.snapshots];

const FIRST_RESTART_MS = 1_000;
const LONGEST_RESTART_MS = 60_000;
/** Having run for so long, the next stop is not counted as another failed start. */
const SETTLED_AFTER_MS = 60_000;

export interface DecodingParts {
  lake: string;
  owner: string;
  threads: number;
  lakePatienceMs: number;
  registry: Registry;
  landing: LandingStore;
  stream: Stream;
  producer: StreamProducer;
  log: Log;
  decodeAnew(uploadId: string): Promise<void>;
}

/** Keeps a decode worker running: one that stops by an error is started again, ever more slowly, and readiness says why. */
export class Decoding {
  /** Why nothing is decoded now. */
  problem: ProblemDocument | null = null;
  private readonly pool: DecodePool;
  private worker: DecodeWorker | null = null;
  private restart: NodeJS.Timeout | null = null;
  private restartMs = FIRST_RESTART_MS;
  private stopping = false;

  constructor(private readonly parts: DecodingParts) {
    this.pool = new DecodePool(parts.threads, parts.lake, Date.now, parts.owner);
  }

  /** @throws TallybayError `stream_unavailable` when the group cannot be joined */
  async start(): Promise<void> {
    const consumer = await this.parts.stream.consumer(DECODE_GROUP, DECODE_TOPICS);
    const worker = this.newWorker(consumer);
    const startedAt = Date.now();
    await worker.start((error) => {
      if (Date.now() - startedAt > SETTLED_AFTER_MS) this.restartMs = FIRST_RESTART_MS;
      this.stopped(worker, error);
    });
    this.worker = worker;
    this.problem = null;
  }

  async stop(): Promise<void> {
    this.stopping = true;
    if (this.restart) clearTimeout(this.restart);
    await this.worker?.stop();
    await this.pool.close();
  }

  private newWorker(consumer: StreamConsumer): DecodeWorker {
    const { lake, owner, registry, producer, log, landing, lakePatienceMs, decodeAnew } = this.parts;
    const progress = new ProgressBook(registry, (error) =>
      log.warn({ code: classifyError(error).code }, 'progress could not be written'),
    );
    const common = { lake, owner, registry, progress, log, nowMs: Date.now, lakePatienceMs };
    const settlement = new Settlement({ ...common, producer, decodeAnew });
    const limits = new LimitBook(registry, Date.now);
    const landed = new LandedDecode(landing, this.pool, limits);
    return new DecodeWorker({ ...common, consumer, pool: this.pool, landed, limits, settlement });
  }

  private stopped(worker: DecodeWorker, thrown: unknown): void {
    if (this.stopping) return;
    const error = classifyError(thrown);
    this.problem = error.toDocument();
    this.parts.log.error({ err: error, restartMs: this.restartMs }, 'decoding has stopped and will be started again');
    this.restart = setTimeout(() => {
      worker
        .stop()
        .then(() => this.start())
        .catch((again) => this.stopped(worker, again));
    }, this.restartMs);
    this.restartMs = Math.min(2 * this.restartMs, LONGEST_RESTART_MS);
  }
}
