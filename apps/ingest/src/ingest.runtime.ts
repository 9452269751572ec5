import { classifyError, type PipelineState, type ProblemDocument } from '@tallybay/contracts';
import { initLake, stagingDirectory } from '@tallybay/lake';
import { openRegistry, type Registry } from '@tallybay/registry';
import { openStream, type Stream, type StreamConsumer, type StreamProducer } from '@tallybay/stream';
import { stopTraces } from '@tallybay/trace';
import type { Logger } from 'pino';
import { DECODE_GROUP, DECODE_TOPICS, Decoding } from './decode/decoding.js';
import { Refusals } from './health/refusals.js';
import type { IngestConfig } from './ingest.config.js';
import { newOwner, removeLeftovers } from './process-owner.js';
import { KnownUploads } from './receive/known-upload.js';
import { LandingStore } from './receive/landing.js';
import { LogReceiver } from './receive/log-receiver.js';
import { Publisher } from './receive/publisher.js';
import { SnapshotReceiver } from './receive/snapshot-receiver.js';
import { UnderWay } from './receive/under-way.js';
import { WatchedFolder } from './receive/watched-folder.js';
import { TransferFiles } from './transfers/transfer-files.js';
import { TransferSweep } from './transfers/transfer-sweep.js';
import { Transfers } from './transfers/transfers.js';
import { DeadLetters } from './uploads/dead-letters.js';
import { DecodeAgain } from './uploads/decode-again.js';
import { LakeTurn } from './uploads/lake-turn.js';
import { LandedSweep } from './uploads/landed-sweep.js';
import { Reprocess } from './uploads/reprocess.js';
import { StrandedUploads } from './uploads/stranded.js';

/** What every role has. */
interface Stores {
  landing: LandingStore;
  registry: Registry;
  stream: Stream;
  producer: StreamProducer;
}

/** Everything the process runs, built once and in order; Nest only routes to it. */
export class IngestRuntime {
  readonly underWay = new UnderWay();
  readonly refusals = new Refusals();
  readonly logs: LogReceiver;
  readonly snapshots: SnapshotReceiver;
  readonly transfers: Transfers;
  readonly reprocess: Reprocess;
  readonly letters: DeadLetters;
  readonly decodeAgain: DecodeAgain;
  readonly registry: Registry;
  readonly landing: LandingStore;
  readonly stream: Stream;
  private readonly producer: StreamProducer;
  private readonly sweep: LandedSweep;
  private readonly stranded: StrandedUploads;
  private readonly transferSweep: TransferSweep;
  private readonly decoding: Decoding | null;
  private readonly watched: WatchedFolder | null;
  private stopping = false;

  private constructor(
    readonly config: IngestConfig,
    readonly log: Logger,
    stores: Stores,
    /** Never run: for asking how far the decode group is. */
    private readonly lagReader: StreamConsumer,
    owner: string,
  ) {
    const { registry, landing, stream, producer } = stores;
    this.registry = registry;
    this.landing = landing;
    this.stream = stream;
    this.producer = producer;
    const publisher = new Publisher(registry, landing, producer);
    this.reprocess = new Reprocess(registry, landing, publisher, new LakeTurn(config.lake, registry));
    this.sweep = new LandedSweep(registry, publisher, log);
    this.letters = new DeadLetters(stream, producer, registry, this.reprocess);
    this.decodeAgain = new DecodeAgain(config.lake, registry, this.reprocess, this.sweep);
    const again = (id: string) => this.reprocess.decodeAgain(id);
    this.stranded = new StrandedUploads({ registry, lag: () => lagReader.lag(), decodeAgain: again, log });
    const known = new KnownUploads(registry, landing, publisher, again);
    const nowMs = Date.now;
    this.logs = new LogReceiver(registry, landing, publisher, known, { maxBytes: config.maxUploadBytes, nowMs });
    this.snapshots = new SnapshotReceiver(registry, landing, publisher, known, nowMs);
    this.transfers = transfersOf(config, this.logs);
    this.transferSweep = new TransferSweep(this.transfers, log);
    this.watched =
      config.watch && config.role !== 'decode'
        ? new WatchedFolder(config.watch, config.home, this.logs, this.snapshots, log)
        : null;
    const decodeAnew = async (id: string) => void (await again(id));
    this.decoding =
      config.role === 'receive'
        ? null
        : new Decoding({
            ...stores,
            lake: config.lake,
            owner,
            threads: config.decodeThreads,
            lakePatienceMs: config.lakePatienceSeconds * 1000,
            log,
            decodeAnew,
          });
  }

  /** @throws TallybayError naming the store that cannot be opened */
  static async open(config: IngestConfig, log: Logger): Promise<IngestRuntime> {
    const owner = newOwner();
    const landing = new LandingStore(config.landing, owner);
    await landing.prepare();
    await new TransferFiles(config.transfers.directory).prepare();
    initLake(config.lake);
    const onConnectionLost = (error: Error) => log.warn({ err: error }, 'a registry connection was lost');
    const registry = await openRegistry({ ...config.registry, onConnectionLost });
    const stream = await openStream(config.stream, {
      onProblem: (error) => log.warn({ code: error.code, detail: error.message }, 'stream'),
    });
    await stream.prepare();
    const producer = await stream.producer();
    const lagReader = await stream.consumer(DECODE_GROUP, DECODE_TOPICS);
    return new IngestRuntime(config, log, { landing, registry, stream, producer }, lagReader, owner);
  }

  async start(): Promise<void> {
    if (this.config.role !== 'decode') {
      this.sweep.start();
      this.stranded.start();
      this.watched?.start();
      this.transferSweep.start();
    }
    if (!this.decoding) return;
    await removeLeftovers(stagingDirectory(this.config.lake), Date.now());
    void this.lookForDamage();
    await this.decoding.start();
  }

  /** Stops taking work, lets what is under way finish, and closes the stores. */
  async stop(): Promise<void> {
    if (this.stopping) return;
    this.stopping = true;
    await this.transfers.stop();
    const cutOff = await this.underWay.drain(this.config.drainSeconds * 1000);
    if (cutOff > 0) this.log.warn({ cutOff }, 'uploads were still arriving at the end of the drain time');
    await this.watched?.stop();
    await this.transferSweep.stop();
    await this.sweep.stop();
    await this.stranded.stop();
    await this.decoding?.stop();
    await this.producer.close();
    await this.stream.close();
    await this.registry.close();
    await stopTraces();
  }

  async readiness(): Promise<{ ready: boolean; role: string; stopping: boolean; problem: ProblemDocument | null }> {
    let problem = this.decoding?.problem ?? null;
    if (!this.stopping) {
      try {
        await this.registry.ping();
      } catch (error) {
        problem = classifyError(error).toDocument();
      }
    }
    return { ready: !this.stopping && problem === null, role: this.config.role, stopping: this.stopping, problem };
  }

  async pipeline(): Promise<PipelineState> {
    const [uploads, lag] = await Promise.all([this.registry.uploads.countByState(), this.lagReader.lag()]);
    return {
      uploads,
      lag: lag.reduce((sum, { committed, end }) => sum + Number(end - committed), 0),
      partitions: lag.map(({ topic, partition, committed, end }) => ({
        topic,
        partition,
        committed: String(committed),
        end: String(end),
      })),
    };
  }

  private async lookForDamage(): Promise<void> {
    try {
      const { files, damaged, missing } = await this.decodeAgain.checkLake();
      if (damaged.length > 0) this.log.error({ files, damaged }, 'damaged files were taken out of the lake');
      if (missing.length > 0) this.log.error({ missing }, 'uploads are missing in the lake; decode them again');
    } catch (error) {
      this.log.error({ err: error }, 'the lake could not be checked');
    }
  }
}

function transfersOf({ transfers, maxUploadBytes }: IngestConfig, logs: LogReceiver): Transfers {
  const { directory, maxOpen, maxTotalBytes, keepHours } = transfers;
  const limits = { maxOpen, maxTotalBytes, maxBytes: maxUploadBytes, keepMs: keepHours * 3_600_000 };
  return new Transfers(new TransferFiles(directory), logs, limits);
}
