import type { Assignment, ReceivedMessage } from '@tallybay/stream';
import type { OpenSpan } from '@tallybay/trace';
import { OffsetTracker } from './offset-tracker.js';

/** One attempt at an upload, from its first message in this partition until it is settled. */
export interface OpenUpload {
  readonly id: string;
  readonly attempt: number;
  readonly key: string;
  /** Ordinal of the chunk that must come next; lower ones are second deliveries. */
  next: number;
  /**
   * `decode`: chunks go to a thread. `settle`: no more are wanted, it is being stored, set aside, or decoded from the
   * landing store. `skip`: it was settled before, or a newer attempt has taken its place.
   */
  mode: 'decode' | 'settle' | 'skip';
  lastSeenMs: number;
  /** From its first message until it is settled; one that does nothing for what is passed over. */
  readonly span: OpenSpan;
}

/** A message in the course of being dealt with. */
export interface Delivered<M> {
  message: ReceivedMessage;
  meta: M;
  open: OpenUpload;
  lane: Lane;
}

export const attemptKey = (upload: { uploadId: string; attempt: number }): string =>
  `${upload.uploadId}/${upload.attempt}`;

/**
 * One partition for the time of one assignment. When the partition comes back after a rebalance it gets a new lane, so
 * whatever is still under way from the old one cannot mix with it.
 */
export class Lane {
  readonly tracker = new OffsetTracker();
  readonly uploads = new Map<string, OpenUpload>();
  readonly work = new Set<Promise<void>>();
  /** The commit under way, and whether there is more to commit after it. */
  committing: Promise<void> | null = null;
  commitAgain = false;
  committed: bigint | null = null;
  /** Nothing may be committed or dropped in its name any more. */
  revoked = false;
  private readonly ending = new AbortController();

  constructor(readonly assignment: Assignment) {}

  get partition(): number {
    return this.assignment.partition;
  }

  /** Aborted when the partition is about to be given up: no new work, no more waiting. */
  get signal(): AbortSignal {
    return this.ending.signal;
  }

  get closing(): boolean {
    return this.ending.signal.aborted;
  }

  close(): void {
    this.ending.abort();
  }

  /** The attempt needs nothing more. */
  settle(open: OpenUpload): void {
    open.span.end();
    this.tracker.done(open.key);
    if (this.uploads.get(open.id) === open) this.uploads.delete(open.id);
  }
}
