import {
  type LogChunkMeta,
  type ProblemDocument,
  type SnapshotMeta,
  type StreamEvent,
  TallybayError,
  TOPICS,
} from '@tallybay/contracts';
import { commitStaged, dropStaged, StagedTakenAway, type StagedUpload, withdrawStaged } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { eventMessage, type ReceivedMessage, type StreamProducer } from '@tallybay/stream';
import { inSpan } from '@tallybay/trace';
import { limitEventOf } from './limit-event.js';
import type { DecodedLog } from './log-session.js';
import { Abandoned, type Patience, persist } from './patience.js';
import type { ProgressBook } from './progress-book.js';

export interface Log {
  info(fields: object, message: string): void;
  warn(fields: object, message: string): void;
  error(fields: object, message: string): void;
}

export interface SettlementParts {
  lake: string;
  registry: Registry;
  producer: StreamProducer;
  progress: ProgressBook;
  log: Log;
  nowMs: () => number;
  /** How long a lake that cannot be written is tried before an upload is set aside. */
  lakePatienceMs: number;
  /** Sends an upload on its way once more, under a new attempt. */
  decodeAnew(uploadId: string): Promise<void>;
}

type Meta = LogChunkMeta | SnapshotMeta;

/**
 * How an upload's decode ends: in the lake, or set aside with its bytes and the reason. The registry's `attempt` decides
 * who may: an older attempt neither stores nor fails what a newer one has taken up.
 */
export class Settlement {
  /** Stores of one upload follow one another: two attempts write the same names. */
  private readonly storing = new Map<string, Promise<void>>();

  constructor(private readonly parts: SettlementParts) {}

  /**
   * Puts the upload into the lake, durably, and then says so in the registry and as an event.
   * @throws TallybayError `lake_unwritable` after `lakePatienceMs`; Abandoned
   */
  async store(meta: Meta, decoded: DecodedLog, signal: AbortSignal): Promise<void> {
    const before = this.storing.get(meta.uploadId);
    const work = (before ?? Promise.resolve())
      .catch(() => {})
      .then(() =>
        inSpan('store upload', { attributes: { 'tallybay.upload.id': meta.uploadId } }, () =>
          this.storeNow(meta, decoded, signal),
        ),
      );
    this.storing.set(meta.uploadId, work);
    try {
      await work;
    } finally {
      if (this.storing.get(meta.uploadId) === work) this.storing.delete(meta.uploadId);
    }
  }

  /** Keeps bytes and reason where they can be seen and replayed, and marks the upload. @throws Abandoned */
  async setAside(message: ReceivedMessage, meta: Meta, problem: ProblemDocument, signal: AbortSignal): Promise<void> {
    const { registry, progress, log } = this.parts;
    if (await this.isSuperseded(meta, signal)) return;
    await this.deadLetter(message, problem, signal);
    await progress.forget(meta.uploadId);
    const upload = { id: meta.uploadId, attempt: meta.attempt };
    await persist(
      () => registry.uploads.transitionOf(upload, ['landed', 'queued', 'decoding'], 'failed', { problem }),
      this.patience('registry', signal, meta.uploadId),
    );
    log.error({ uploadId: meta.uploadId, code: problem.code, detail: problem.detail }, 'upload failed');
  }

  /** @throws Abandoned */
  async deadLetter(message: ReceivedMessage, problem: ProblemDocument, signal: AbortSignal): Promise<void> {
    const { topic, partition, offset, headers } = message;
    const letter = {
      ...headers,
      reason: JSON.stringify(problem),
      origin: JSON.stringify({ topic, partition, offset: String(offset) }),
    };
    await persist(
      () => this.parts.producer.send(TOPICS.deadLetters, [{ key: message.key, value: message.value, headers: letter }]),
      this.patience('stream', signal),
    );
  }

  /** Tells other systems. @throws Abandoned */
  async announce(event: StreamEvent, signal: AbortSignal): Promise<void> {
    await persist(
      () => this.parts.producer.send(TOPICS.events, [eventMessage(event)]),
      this.patience('stream', signal, 'uploadId' in event ? event.uploadId : undefined),
    );
  }

  /** Tells of crossings that were not told of yet; each once, or with the same id again after a crash. @throws Abandoned */
  async announceCrossings(uploadId: string, signal: AbortSignal): Promise<void> {
    const { limitEvents } = this.parts.registry;
    const patience = this.patience('registry', signal, uploadId);
    const events = await persist(() => limitEvents.unsent(uploadId), patience);
    if (events.length === 0) return;
    await persist(
      () => this.parts.producer.send(TOPICS.events, events.map(eventMessage)),
      this.patience('stream', signal, uploadId),
    );
    await persist(() => limitEvents.markSent(uploadId), patience);
  }

  /** @param uploadId which upload waits, for the log; the commit of offsets is nobody's in particular */
  patience(what: string, signal: AbortSignal, uploadId?: string): Patience {
    return {
      signal,
      onWait: (error, waitMs) =>
        this.parts.log.warn({ uploadId, code: error.code, detail: error.message, waitMs }, `waiting for the ${what}`),
    };
  }

  private async storeNow(meta: Meta, decoded: DecodedLog, signal: AbortSignal): Promise<void> {
    const { lake, progress, log, nowMs, lakePatienceMs } = this.parts;
    const { staged, counts } = decoded;
    if (await this.isSuperseded(meta, signal)) return this.dropSuperseded(meta, staged);
    const waitForLake = { ...this.patience('lake', signal, meta.uploadId), untilMs: Date.now() + lakePatienceMs };
    try {
      await persist(() => commitStaged(lake, staged, meta.formerVehicleIds), waitForLake);
    } catch (error) {
      await dropStaged(staged);
      if (error instanceof StagedTakenAway) return this.overtaken(meta, signal, true);
      // Half an upload must not be counted; whole, it comes back by another decode.
      if (!(error instanceof Abandoned) && staged.files.some((file) => file.visible)) {
        await withdrawStaged(lake, staged);
        if (await this.isSuperseded(meta, signal)) return this.overtaken(meta, signal, true);
      }
      throw error;
    }
    await progress.forget(meta.uploadId);
    const at = new Date(nowMs()).toISOString();
    await this.keepCrossings(meta, decoded, at, signal);
    if (!(await this.markStored(meta, decoded, at, signal))) return this.overtaken(meta, signal, false);
    const { uploadId, vehicleId } = meta;
    await this.announce({ kind: 'upload_stored', at, uploadId, vehicleId, rows: counts.rowsKept }, signal);
    if (decoded.crossings.length > 0) await this.announceCrossings(uploadId, signal);
    log.info({ uploadId, vehicleId, rows: counts.rowsKept }, 'upload stored');
  }

  /** Before the upload counts as stored, so that no crossing is lost between that and its event. */
  private async keepCrossings(meta: Meta, decoded: DecodedLog, at: string, signal: AbortSignal): Promise<void> {
    if (!('chunks' in meta) || (decoded.crossings.length === 0 && meta.attempt === 0)) return;
    const events = decoded.crossings.map((crossing) => limitEventOf(meta, crossing, at));
    await persist(
      () => this.parts.registry.limitEvents.put(meta.uploadId, events),
      this.patience('registry', signal, meta.uploadId),
    );
  }

  private markStored(meta: Meta, decoded: DecodedLog, at: string, signal: AbortSignal): Promise<boolean> {
    const chunks = 'chunks' in meta ? meta.chunks : 1;
    const patch = {
      storedAt: at,
      firstTime: isoOrNull(decoded.firstMs),
      lastTime: isoOrNull(decoded.lastMs),
      counts: decoded.counts,
      progress: { chunks, decoded: chunks },
      catalogueVersion: decoded.catalogueVersion,
      problem: null,
    };
    const upload = { id: meta.uploadId, attempt: meta.attempt };
    return persist(
      () =>
        this.parts.registry.uploads.transitionOf(
          upload,
          ['landed', 'queued', 'decoding', 'failed', 'stored'],
          'stored',
          patch,
        ),
      this.patience('registry', signal, meta.uploadId),
    );
  }

  private async isSuperseded(meta: Meta, signal: AbortSignal): Promise<boolean> {
    const { uploads } = this.parts.registry;
    const row = await persist(() => uploads.get(meta.uploadId), this.patience('registry', signal, meta.uploadId));
    return row === null || row.attempt > meta.attempt;
  }

  private async dropSuperseded(meta: Meta, staged: StagedUpload): Promise<void> {
    await dropStaged(staged);
    this.parts.log.info({ uploadId: meta.uploadId, attempt: meta.attempt }, 'a newer decode has taken over');
  }

  /**
   * A newer attempt began while this one was being put into the lake. All that this one did came before the newer one's
   * files, unless it was stopped on the way (`doubtful`): then it may have removed some of them. One more decode sets that
   * right, and also what a newer one that has ended may have left mixed.
   */
  private async overtaken(meta: Meta, signal: AbortSignal, doubtful: boolean): Promise<void> {
    const { registry, log, decodeAnew } = this.parts;
    const row = await persist(
      () => registry.uploads.get(meta.uploadId),
      this.patience('registry', signal, meta.uploadId),
    );
    log.warn(
      { uploadId: meta.uploadId, attempt: meta.attempt, now: row?.attempt, doubtful },
      'overtaken by a newer one',
    );
    if (row && (doubtful || row.state === 'stored' || row.state === 'failed'))
      await persist(() => decodeAnew(meta.uploadId), this.patience('stream', signal, meta.uploadId));
  }
}

const isoOrNull = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());

/** The upload that a message claims to be of is not in the registry. */
export const unknownUpload = (uploadId: string): TallybayError =>
  new TallybayError('upload_unknown', `The stream names an upload ${uploadId} that the registry does not have`, {
    advice: 'Was the registry restored from a backup? Send the file again; its bytes are in the landing store.',
  });
