import { classifyError } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import type { StreamConsumer } from '@tallybay/stream';
import type { SweepLog } from './landed-sweep.js';

const EVERY_MS = 30_000;

export interface StrandedParts {
  registry: Pick<Registry, 'uploads'>;
  /** How far the decode group is. */
  lag: StreamConsumer['lag'];
  /** Puts an upload on its way again, from the landing store. */
  decodeAgain(id: string): Promise<unknown>;
  log: SweepLog;
}

/** Uploads under way by id, with their attempts, and where each partition ended when all their messages were on it. */
interface Watched {
  uploads: Map<string, number>;
  ends: Map<string, bigint>;
}

/**
 * An upload that is `queued` has all its messages on the stream, and ends before the decode group commits past them. One
 * that has not ended when the group is past them was lost there: messages that outlived the topic's retention while nobody
 * decoded, a stream that was set up anew, offsets set by hand. The landing store has its bytes, so it is decoded again.
 */
export class StrandedUploads {
  private watched: Watched | null = null;
  private timer: NodeJS.Timeout | null = null;
  private running: Promise<unknown> = Promise.resolve();

  constructor(private readonly parts: StrandedParts) {}

  start(): void {
    this.timer = setInterval(() => {
      this.running = this.running.then(() => this.passQuietly());
    }, EVERY_MS);
    this.timer.unref();
  }

  async stop(): Promise<void> {
    if (this.timer) clearInterval(this.timer);
    await this.running;
  }

  /** Looks at what was under way at the last pass, or begins to. @returns ids that were sent on their way again */
  async pass(): Promise<string[]> {
    const { lag, decodeAgain, log } = this.parts;
    if (this.watched === null) {
      const uploads = await this.underWay();
      // In this order: the ends lie behind all messages of these uploads.
      if (uploads.size > 0) this.watched = { uploads, ends: endsOf(await lag()) };
      return [];
    }
    if (!isPast(await lag(), this.watched.ends)) return [];
    const { uploads } = this.watched;
    this.watched = null;
    const now = await this.underWay();
    const stranded = [...uploads].filter(([id, attempt]) => now.get(id) === attempt).map(([id]) => id);
    for (const id of stranded) {
      log.warn({ uploadId: id }, 'the stream has lost an upload; it is decoded again from the landing store');
      await decodeAgain(id);
    }
    return stranded;
  }

  /** What did not work is tried at the next pass. */
  private async passQuietly(): Promise<void> {
    try {
      await this.pass();
    } catch (thrown) {
      const error = classifyError(thrown);
      this.parts.log.warn({ code: error.code, detail: error.message }, 'stranded uploads could not be looked for');
    }
  }

  private async underWay(): Promise<Map<string, number>> {
    const { uploads } = this.parts.registry;
    const rows = [...(await uploads.withState('queued')), ...(await uploads.withState('decoding'))];
    return new Map(rows.map((row) => [row.id, row.attempt]));
  }
}

type Lag = Awaited<ReturnType<StreamConsumer['lag']>>;
const keyOf = ({ topic, partition }: Lag[number]): string => `${topic}/${partition}`;
const endsOf = (lag: Lag): Map<string, bigint> => new Map(lag.map((row) => [keyOf(row), row.end]));

/** A partition that has nothing left is past everything, also when it begins anew at 0. */
const isPast = (lag: Lag, ends: ReadonlyMap<string, bigint>): boolean =>
  lag.every((row) => row.committed >= row.end || row.committed >= (ends.get(keyOf(row)) ?? 0n));
