import {
  type LogChunkMeta,
  logChunkMetaSchema,
  type SnapshotMeta,
  snapshotMetaSchema,
  TOPICS,
} from '@tallybay/contracts';
import type { VehicleLimit } from '@tallybay/risk';
import type { Assignment, ReceivedMessage } from '@tallybay/stream';
import { Attempts } from './attempts.js';
import { Committer } from './committer.js';
import type { DecodeParts } from './decode-parts.js';
import { ThreadEnded } from './decode-pool.js';
import type { ThreadReply } from './decode-thread.js';
import { type Delivered, Lane, type OpenUpload } from './lane.js';
import { Abandoned, persist } from './patience.js';
import { readMeta } from './read-meta.js';
import { Recovery, type Setback } from './recovery.js';
import { Slots } from './slots.js';
import { decodeSnapshot } from './snapshot-decoder.js';

/** Messages handed to threads and not yet answered, for each thread; more would only wait in memory. */
const SLOTS_A_THREAD = 3;
const LEAST_SLOTS = 6;
/** An open upload that has heard nothing for so long is looked up: a newer attempt may have gone elsewhere. */
const STALE_AFTER_MS = 10_000;
/** How long what is under way may take to finish when its partition is given up. */
const FINISH_WITHIN_MS = 20_000;

/** What goes on after a message was admitted; null when nothing does. Boxed, so that awaiting admission does not await it. */
type Begun = { work: Promise<void> } | null;

/**
 * Stream -> lake. Chunks go to the decode threads; a finished upload is synced and renamed into the lake, then its row is
 * marked stored, then its offsets are committed. A failed upload is set aside with its bytes and its reason, and the
 * partition goes on. Delivery is at least once, and the registry says which attempt at an upload counts.
 */
export class DecodeWorker {
  private readonly lanes = new Map<string, Lane>();
  private readonly slots: Slots;
  private readonly recovery: Recovery;
  private readonly attempts: Attempts;
  private readonly committer: Committer;
  private failure: unknown;
  private sweep: NodeJS.Timeout | null = null;

  constructor(private readonly parts: DecodeParts) {
    this.slots = new Slots(Math.max(LEAST_SLOTS, SLOTS_A_THREAD * parts.pool.size));
    this.recovery = new Recovery(parts);
    this.attempts = new Attempts(parts);
    this.committer = new Committer(parts);
  }

  /** @param onStopped told when it ends for another reason than `stop` */
  async start(onStopped: (error: unknown) => void): Promise<void> {
    this.sweep = setInterval(() => this.sweepStale(), STALE_AFTER_MS);
    this.sweep.unref();
    await this.parts.consumer.run({
      onMessages: (messages, assignment) => this.take(messages, assignment),
      onRevoked: (assignments) => this.giveUp(assignments),
      onStopped: (error) => {
        const reason = error ?? this.failure;
        if (reason !== undefined) onStopped(reason);
      },
    });
  }

  /** Lets what is in the threads finish, then leaves the group; unfinished uploads are delivered again. */
  async stop(): Promise<void> {
    if (this.sweep) clearInterval(this.sweep);
    await this.parts.consumer.close();
    this.parts.progress.close();
  }

  /**
   * Admission is strictly in order, one message after the other; only the decoding itself and what follows it overlap.
   * Not returning is the back-pressure. After the partition has been given up a call may be left behind: it stops at the
   * lane that it began with.
   */
  private async take(messages: ReceivedMessage[], assignment: Assignment): Promise<void> {
    const lane = this.laneOf(assignment);
    try {
      for (const message of messages) {
        await this.slots.take();
        const begun = lane.closing ? null : await this.admit(message, lane).catch(this.giveAndThrow);
        if (begun) this.follow(begun.work, lane, true);
        else this.slots.give();
        if (lane.closing) return;
      }
      this.follow(this.committer.commit(lane), lane, false);
    } catch (error) {
      if (!(error instanceof Abandoned)) throw error;
    }
  }

  private readonly giveAndThrow = (error: unknown): never => {
    this.slots.give();
    throw error;
  };

  private async admit(message: ReceivedMessage, lane: Lane): Promise<Begun> {
    if (message.topic === TOPICS.snapshots) return this.admitSnapshot(message, lane);
    const meta = await this.metaOf(message, lane, logChunkMetaSchema);
    if (!meta) return null;
    const open = await this.attempts.openFor(message, meta, lane);
    if (lane.closing) return null;
    if (open?.mode !== 'decode' || meta.ordinal < open.next) return this.pass(message, meta, open, lane);
    lane.tracker.seen(open.key, message.offset);
    const upload = { message, meta, open, lane };
    // Chunks before this one were read by somebody who then did not finish: the landing store has them all.
    if (meta.ordinal > open.next) return { work: this.recover(upload, { kind: 'lost' }) };
    const limits = meta.ordinal > 0 ? [] : await this.limitsOf(meta.vehicleId, lane);
    if (lane.closing) return null;
    open.next++;
    open.lastSeenMs = this.parts.nowMs();
    const plan = message.headers.plan ?? '';
    const reply = this.parts.pool.decode(lane.partition, { meta, plan, value: message.value, limits });
    return { work: this.afterDecode(upload, reply) };
  }

  /** @throws Abandoned */
  private limitsOf(vehicleId: string, lane: Lane): Promise<VehicleLimit[]> {
    const { limits, settlement } = this.parts;
    return persist(() => limits.of(vehicleId), settlement.patience('registry', lane.signal));
  }

  private async admitSnapshot(message: ReceivedMessage, lane: Lane): Promise<Begun> {
    const meta = await this.metaOf(message, lane, snapshotMetaSchema);
    if (!meta) return null;
    const open = await this.attempts.openFor(message, meta, lane);
    if (lane.closing) return null;
    if (open?.mode !== 'decode') return this.pass(message, meta, open, lane);
    lane.tracker.seen(open.key, message.offset);
    open.mode = 'settle';
    return { work: this.settleSnapshot({ message, meta, open, lane }) };
  }

  private async settleSnapshot(upload: Delivered<SnapshotMeta>): Promise<void> {
    const { message, meta, open, lane } = upload;
    const { lake, owner } = this.parts;
    await this.recovery.snapshot(upload, () => decodeSnapshot(lake, meta, message.value, owner));
    await this.finish(open, lane);
  }

  private async afterDecode(upload: Delivered<LogChunkMeta>, pending: Promise<ThreadReply>): Promise<void> {
    const { meta, open, message, lane } = upload;
    const reply = await pending.catch((error): Setback => {
      if (error instanceof ThreadEnded) return { kind: 'thread_ended', why: error.message };
      throw error;
    });
    if (open.mode !== 'decode') return;
    if (reply.kind === 'taken') {
      if (lane.uploads.get(open.id) !== open) return;
      this.parts.progress.reached(meta.uploadId, meta.ordinal + 1, meta.chunks);
      return;
    }
    if (reply.kind === 'unknown' || reply.kind === 'lost') return this.recover(upload, { kind: 'lost' });
    if (reply.kind === 'thread_ended' || reply.kind === 'unwritable') return this.recover(upload, reply);
    if (reply.kind === 'failed' && reply.code === 'lake_unwritable')
      return this.recover(upload, { kind: 'unwritable', problem: reply.problem });
    open.mode = 'settle';
    if (reply.kind === 'failed') {
      open.span.end(reply.problem.detail);
      await this.parts.settlement.setAside(message, meta, reply.problem, lane.signal);
    } else await this.recovery.store(upload, reply.decoded);
    await this.finish(open, lane);
  }

  private async recover(upload: Delivered<LogChunkMeta>, setback: Setback): Promise<void> {
    upload.open.mode = 'settle';
    await this.recovery.log(upload, setback);
    await this.finish(upload.open, upload.lane);
  }

  private async finish(open: OpenUpload, lane: Lane): Promise<void> {
    lane.settle(open);
    await this.committer.commit(lane);
  }

  /** A message that is not needed. The last of an upload that is stored already repeats its event: it may never have gone out. */
  private pass(
    message: ReceivedMessage,
    meta: LogChunkMeta | SnapshotMeta,
    open: OpenUpload | null,
    lane: Lane,
  ): Begun {
    lane.tracker.passed(message.offset);
    const isLast = !('chunks' in meta) || meta.ordinal === meta.chunks - 1;
    if (!isLast || open?.mode !== 'skip') return null;
    lane.settle(open);
    return { work: this.repeatEvent(meta, lane) };
  }

  private async repeatEvent(meta: LogChunkMeta | SnapshotMeta, lane: Lane): Promise<void> {
    const { uploadId, vehicleId, attempt } = meta;
    const row = await this.attempts.row(uploadId, lane);
    if (row?.state !== 'stored' || row.attempt !== attempt || row.storedAt === null) return;
    const rows = row.counts?.rowsKept ?? 0;
    const event = { kind: 'upload_stored', at: row.storedAt, uploadId, vehicleId, rows } as const;
    await this.parts.settlement.announce(event, lane.signal);
    await this.parts.settlement.announceCrossings(uploadId, lane.signal);
  }

  private async metaOf<T>(
    message: ReceivedMessage,
    lane: Lane,
    schema: { parse(value: unknown): T },
  ): Promise<T | null> {
    const read = readMeta(message, schema);
    if ('meta' in read) return read.meta;
    await this.parts.settlement.deadLetter(message, read.problem.toDocument(), lane.signal);
    lane.tracker.passed(message.offset);
    return null;
  }

  private follow(work: Promise<void>, lane: Lane, holdsSlot: boolean): void {
    const guarded = work
      .catch((error) => {
        if (error instanceof Abandoned) return;
        this.failure ??= error;
        // It reports to onStopped, and never rejects.
        void this.parts.consumer.close();
      })
      .finally(() => {
        lane.work.delete(guarded);
        if (holdsSlot) this.slots.give();
      });
    lane.work.add(guarded);
  }

  /** The partitions go to another process: what is in the threads may finish and commit, open uploads are dropped. */
  private async giveUp(assignments: Assignment[]): Promise<void> {
    const leaving = assignments.map((assignment) => this.lanes.get(laneKey(assignment))).filter((lane) => !!lane);
    for (const lane of leaving) {
      lane.close();
      this.lanes.delete(laneKey(lane.assignment));
    }
    const finished = Promise.all(leaving.flatMap((lane) => [...lane.work]));
    await Promise.race([finished, new Promise((resolve) => setTimeout(resolve, FINISH_WITHIN_MS).unref())]);
    for (const lane of leaving) {
      lane.revoked = true;
      for (const open of [...lane.uploads.values()]) await this.attempts.drop(open, lane);
    }
  }

  /** Lets go of uploads whose newer attempt went to another partition, so that they do not hold up commits for ever. */
  private sweepStale(): void {
    const since = this.parts.nowMs() - STALE_AFTER_MS;
    for (const lane of this.lanes.values())
      for (const open of lane.uploads.values())
        if (open.mode !== 'settle' && open.lastSeenMs < since) this.follow(this.checkStale(open, lane), lane, false);
  }

  private async checkStale(open: OpenUpload, lane: Lane): Promise<void> {
    const stale = await this.attempts.isStale(open, lane);
    if (!stale || open.mode === 'settle' || lane.closing || lane.uploads.get(open.id) !== open) return;
    await this.attempts.drop(open, lane);
    await this.committer.commit(lane);
  }

  private laneOf(assignment: Assignment): Lane {
    const key = laneKey(assignment);
    let lane = this.lanes.get(key);
    if (!lane) this.lanes.set(key, (lane = new Lane(assignment)));
    return lane;
  }
}

const laneKey = (assignment: Assignment): string => `${assignment.topic}/${assignment.partition}`;
