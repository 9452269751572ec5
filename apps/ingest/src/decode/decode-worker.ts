import {
  classifyError,
  type LogChunkMeta,
  logChunkMetaSchema,
  type ProblemDocument,
  type SnapshotMeta,
  type StreamEvent,
  snapshotMetaSchema,
  TallybayError,
  TOPICS,
} from '@tallybay/contracts';
import { commitStaged } from '@tallybay/lake';
import type { Registry, UploadPatch } from '@tallybay/registry';
import type { Assignment, ReceivedMessage, StreamConsumer, StreamProducer } from '@tallybay/stream';
import type { DecodePool } from './decode-pool.js';
import type { ThreadReply } from './decode-thread.js';
import type { DecodedLog } from './log-session.js';
import { OffsetTracker } from './offset-tracker.js';
import type { ProgressBook } from './progress-book.js';
import { decodeSnapshot } from './snapshot-decoder.js';

/** Chunks handed to a partition's thread and not yet answered; more would only wait in memory. */
const MAX_OUTSTANDING = 6;

export interface DecodeWorkerParts {
  lake: string;
  registry: Registry;
  consumer: StreamConsumer;
  producer: StreamProducer;
  pool: DecodePool;
  progress: ProgressBook;
  log: { info(fields: object, message: string): void; error(fields: object, message: string): void };
  nowMs: () => number;
}

/**
 * Stream -> lake. Chunks go to the decode threads; a finished upload is synced and renamed into the lake, then its row is
 * marked stored, then its offsets are committed. A failed upload is set aside with its bytes and its reason, and the
 * partition goes on.
 */
export class DecodeWorker {
  private readonly trackers = new Map<string, OffsetTracker>();
  private readonly outstanding = new Set<Promise<void>>();
  /** Uploads whose remaining chunks are ignored: failed ones, and ones already in the lake. */
  private readonly ignored = new Set<string>();
  private readonly started = new Set<string>();
  private fatal: unknown = null;

  constructor(private readonly parts: DecodeWorkerParts) {}

  async start(onStopped: (error?: unknown) => void): Promise<void> {
    await this.parts.consumer.run({
      onMessages: (messages, assignment) => this.take(messages, assignment),
      onRevoked: (assignments) => this.giveUp(assignments),
      onStopped,
    });
  }

  /** Lets what is in the threads finish, then leaves the group; unfinished uploads are delivered again. */
  async stop(): Promise<void> {
    await this.parts.consumer.close();
    await Promise.allSettled(this.outstanding);
    this.parts.progress.close();
  }

  /**
   * Admission is strictly in order, one message after the other; only the decoding itself and what follows it overlap,
   * up to MAX_OUTSTANDING messages. Not returning is the back-pressure.
   */
  private async take(messages: ReceivedMessage[], assignment: Assignment): Promise<void> {
    for (const message of messages) {
      while (this.outstanding.size >= MAX_OUTSTANDING) await Promise.race(this.outstanding);
      if (this.fatal) throw this.fatal;
      if (message.topic.endsWith(TOPICS.snapshots)) this.follow(this.snapshot(message, assignment));
      else await this.admitChunk(message, assignment);
    }
  }

  private follow(work: Promise<void>): void {
    const guarded = work.catch((error) => {
      this.fatal ??= error;
    });
    this.outstanding.add(guarded);
    void guarded.finally(() => this.outstanding.delete(guarded));
  }

  /** Resolves once the chunk is in its thread's queue, or is known not to be needed. */
  private async admitChunk(message: ReceivedMessage, assignment: Assignment): Promise<void> {
    const meta = await this.readMeta(message, assignment, logChunkMetaSchema);
    if (!meta) return;
    this.trackerOf(assignment).seen(meta.uploadId, message.offset);
    if (await this.notNeeded(meta)) {
      await this.complete(meta.uploadId, assignment);
      return;
    }
    const reply = this.parts.pool.decode(assignment.partition, meta, message.headers.plan ?? '', message.value);
    this.follow(this.afterDecode(message, meta, assignment, reply));
  }

  private async afterDecode(
    message: ReceivedMessage,
    meta: LogChunkMeta,
    assignment: Assignment,
    pending: Promise<ThreadReply>,
  ): Promise<void> {
    const reply = await pending;
    if (reply.kind === 'taken') this.parts.progress.chunk(meta.uploadId, meta.chunks);
    else if (reply.kind === 'failed') await this.setAside(message, meta, reply.problem, assignment);
    else await this.store(meta, reply.decoded, assignment);
  }

  private async snapshot(message: ReceivedMessage, assignment: Assignment): Promise<void> {
    const meta = await this.readMeta(message, assignment, snapshotMetaSchema);
    if (!meta) return;
    this.trackerOf(assignment).seen(meta.uploadId, message.offset);
    try {
      await this.store(meta, decodeSnapshot(this.parts.lake, meta, message.value), assignment);
    } catch (thrown) {
      await this.setAside(message, meta, classifyError(thrown).toDocument(), assignment);
    }
  }

  private async store(
    meta: LogChunkMeta | SnapshotMeta,
    decoded: DecodedLog & { decisions?: UploadPatch['decisions'] },
    assignment: Assignment,
  ): Promise<void> {
    await commitStaged(this.parts.lake, decoded.staged, meta.previousVehicleId);
    const at = new Date(this.parts.nowMs()).toISOString();
    await this.parts.progress.forget(meta.uploadId);
    const chunks = 'chunks' in meta ? meta.chunks : 1;
    await this.parts.registry.uploads.transition(
      meta.uploadId,
      ['landed', 'queued', 'decoding', 'failed', 'stored'],
      'stored',
      {
        storedAt: at,
        firstTime: isoOrNull(decoded.firstMs),
        lastTime: isoOrNull(decoded.lastMs),
        counts: decoded.counts,
        progress: { chunks, decoded: chunks },
        catalogueVersion: decoded.catalogueVersion,
        problem: null,
        ...(decoded.decisions ? { decisions: decoded.decisions } : {}),
      },
    );
    await this.announce({
      kind: 'upload_stored',
      at,
      uploadId: meta.uploadId,
      vehicleId: meta.vehicleId,
      rows: decoded.counts.rowsKept,
    });
    this.parts.log.info(
      { uploadId: meta.uploadId, vehicleId: meta.vehicleId, rows: decoded.counts.rowsKept },
      'upload stored',
    );
    await this.complete(meta.uploadId, assignment);
  }

  /** Keeps bytes and reason where they can be seen and replayed, marks the upload, and lets the partition go on. */
  private async setAside(
    message: ReceivedMessage,
    meta: LogChunkMeta | SnapshotMeta,
    problem: ProblemDocument,
    assignment: Assignment,
  ): Promise<void> {
    this.ignored.add(attemptKey(meta));
    await this.deadLetter(message, problem);
    await this.parts.progress.forget(meta.uploadId);
    await this.parts.registry.uploads.transition(meta.uploadId, ['landed', 'queued', 'decoding'], 'failed', {
      problem,
    });
    this.parts.log.error({ uploadId: meta.uploadId, code: problem.code, detail: problem.detail }, 'upload failed');
    await this.complete(meta.uploadId, assignment);
  }

  private async deadLetter(message: ReceivedMessage, problem: ProblemDocument): Promise<void> {
    const headers = {
      ...message.headers,
      reason: JSON.stringify(problem),
      origin: JSON.stringify({ topic: message.topic, partition: message.partition, offset: String(message.offset) }),
    };
    await this.parts.producer.send(TOPICS.deadLetters, [{ key: message.key, value: message.value, headers }]);
  }

  /** True for a chunk of an upload that is in the lake already (delivered again after a crash), or that was set aside. */
  private async notNeeded(meta: LogChunkMeta): Promise<boolean> {
    const attempt = attemptKey(meta);
    if (meta.ordinal === 0) {
      this.ignored.delete(attempt);
      this.started.add(attempt);
      await this.parts.registry.uploads.transition(meta.uploadId, ['landed', 'queued'], 'decoding');
      return false;
    }
    if (!this.ignored.has(attempt) && !this.started.has(attempt)) {
      const upload = await this.parts.registry.uploads.get(meta.uploadId);
      if (upload && (upload.attempt > meta.attempt || upload.state === 'stored')) this.ignored.add(attempt);
    }
    const ignore = this.ignored.has(attempt);
    if (meta.ordinal === meta.chunks - 1) {
      this.ignored.delete(attempt);
      this.started.delete(attempt);
    }
    return ignore;
  }

  private async complete(uploadId: string, assignment: Assignment): Promise<void> {
    const tracker = this.trackerOf(assignment);
    tracker.done(uploadId);
    const next = tracker.committable;
    if (next !== null) await this.parts.consumer.commit(assignment, next);
  }

  private async readMeta<T>(
    message: ReceivedMessage,
    assignment: Assignment,
    schema: { parse(value: unknown): T },
  ): Promise<T | null> {
    try {
      return schema.parse(JSON.parse(message.headers.meta ?? ''));
    } catch (cause) {
      const error = new TallybayError('chunk_undecodable', `A message on ${message.topic} has no readable header`, {
        cause,
      });
      await this.deadLetter(message, error.toDocument());
      const name = `unreadable-${message.offset}`;
      this.trackerOf(assignment).seen(name, message.offset);
      await this.complete(name, assignment);
      return null;
    }
  }

  /** The partitions go to another process: what is in the threads may finish, open uploads are dropped there. */
  private async giveUp(assignments: Assignment[]): Promise<void> {
    await Promise.allSettled(this.outstanding);
    for (const assignment of assignments) {
      const key = assignmentKey(assignment);
      const open = this.trackers.get(key)?.open ?? [];
      this.trackers.delete(key);
      for (const uploadId of open) await this.parts.pool.drop(assignment.partition, uploadId);
    }
  }

  private async announce(event: StreamEvent): Promise<void> {
    const key = 'vehicleId' in event ? event.vehicleId : event.kind;
    await this.parts.producer.send(TOPICS.events, [
      { key, value: new TextEncoder().encode(JSON.stringify(event)), headers: { kind: event.kind } },
    ]);
  }

  private trackerOf(assignment: Assignment): OffsetTracker {
    const key = assignmentKey(assignment);
    let tracker = this.trackers.get(key);
    if (!tracker) {
      tracker = new OffsetTracker();
      this.trackers.set(key, tracker);
    }
    return tracker;
  }
}

const assignmentKey = (assignment: Assignment): string => `${assignment.topic}/${assignment.partition}`;
const attemptKey = (meta: { uploadId: string; attempt: number }): string => `${meta.uploadId}/${meta.attempt}`;
const isoOrNull = (ms: number | null): string | null => (ms === null ? null : new Date(ms).toISOString());
