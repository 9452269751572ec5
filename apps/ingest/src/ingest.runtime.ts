import { randomUUID } from 'node:crypto';
import { classifyError, type ProblemDocument, TOPICS } from '@tallybay/contracts';
import { initLake } from '@tallybay/lake';
import { openRegistry, type Registry } from '@tallybay/registry';
import { openStream, type Stream, type StreamConsumer, type StreamProducer } from '@tallybay/stream';
import type { Logger } from 'pino';
import { DecodePool } from './decode/decode-pool.js';
import { DecodeWorker } from './decode/decode-worker.js';
import { ProgressBook } from './decode/progress-book.js';
import type { IngestConfig } from './ingest.config.js';
import { LandingStore } from './receive/landing.js';
import { LogReceiver } from './receive/log-receiver.js';
import { Publisher } from './receive/publisher.js';
import { SnapshotReceiver } from './receive/snapshot-receiver.js';
import { WatchedFolder } from './receive/watched-folder.js';
import { DeadLetters } from './uploads/dead-letters.js';
import { Reprocess } from './uploads/reprocess.js';

/** Decode workers of all processes share the partitions as this group. */
const DECODE_GROUP = 'tallybay-decode';

/** Everything the process runs, built once and in order; Nest only routes to it. */
export class IngestRuntime {
  private worker: DecodeWorker | null = null;
  private consumer: StreamConsumer | null = null;
  private pool: DecodePool | null = null;
  private watched: WatchedFolder | null = null;
  private stopping = false;
  private decodeProblem: ProblemDocument | null = null;

  private constructor(
    readonly config: IngestConfig,
    readonly log: Logger,
    readonly registry: Registry,
    readonly stream: Stream,
    readonly producer: StreamProducer,
    readonly landing: LandingStore,
    readonly logs: LogReceiver,
    readonly snapshots: SnapshotReceiver,
    readonly reprocess: Reprocess,
    readonly letters: DeadLetters,
  ) {}

  /** @throws TallybayError naming the store that cannot be opened */
  static async open(config: IngestConfig, log: Logger): Promise<IngestRuntime> {
    const landing = new LandingStore(config.landing);
    await landing.prepare();
    initLake(config.lake);
    const registry = await openRegistry(config.registry);
    const stream = await openStream(config.stream);
    await stream.prepare();
    const producer = await stream.producer();
    const publisher = new Publisher(registry, landing, producer);
    const nowMs = Date.now;
    return new IngestRuntime(
      config,
      log,
      registry,
      stream,
      producer,
      landing,
      new LogReceiver(registry, landing, publisher, { maxBytes: config.maxUploadBytes, nowMs }),
      new SnapshotReceiver(registry, landing, publisher, nowMs),
      new Reprocess(registry, landing, publisher),
      new DeadLetters(stream),
    );
  }

  async start(): Promise<void> {
    if (this.config.role !== 'decode') {
      const resumed = await this.reprocess.resumeLanded();
      if (resumed > 0)
        this.log.info({ resumed }, 'uploads that were landed but not on the stream have been sent again');
      if (this.config.watch) {
        this.watched = new WatchedFolder(this.config.watch, this.config.home, this.logs, this.snapshots, this.log);
        this.watched.start();
      }
    }
    if (this.config.role !== 'receive') await this.startDecoding();
  }

  /** Stops taking work, lets what is under way finish, and closes the stores. */
  async stop(): Promise<void> {
    if (this.stopping) return;
    this.stopping = true;
    await this.watched?.stop();
    await this.worker?.stop();
    await this.pool?.close();
    await this.producer.close();
    await this.stream.close();
    await this.registry.close();
  }

  async readiness(): Promise<{ ready: boolean; role: string; stopping: boolean; problem: ProblemDocument | null }> {
    let problem = this.decodeProblem;
    if (!this.stopping) {
      try {
        await this.registry.ping();
      } catch (error) {
        problem = classifyError(error).toDocument();
      }
    }
    return { ready: !this.stopping && problem === null, role: this.config.role, stopping: this.stopping, problem };
  }

  async lag() {
    return this.consumer ? this.consumer.lag() : [];
  }

  private async startDecoding(): Promise<void> {
    this.consumer = await this.stream.consumer(DECODE_GROUP, [TOPICS.logs, TOPICS.snapshots]);
    this.pool = new DecodePool(
      this.config.decodeThreads,
      this.config.lake,
      Date.now,
      `${process.pid}-${randomUUID().slice(0, 8)}`,
    );
    this.worker = new DecodeWorker({
      lake: this.config.lake,
      registry: this.registry,
      consumer: this.consumer,
      producer: this.producer,
      pool: this.pool,
      progress: new ProgressBook(this.registry),
      log: this.log,
      nowMs: Date.now,
    });
    await this.worker.start((error) => {
      if (this.stopping || error === undefined) return;
      this.decodeProblem = classifyError(error).toDocument();
      this.log.fatal({ err: error }, 'decoding has stopped');
    });
  }
}
