import type { Assignment, ConsumerHandlers, ReceivedMessage } from '../port.js';
import type { OffsetManager } from './internals.js';

export interface LaneOptions {
  handlers: ConsumerHandlers;
  deliveryBytes: number;
  deliveryMessages: number;
  /** More than `deliveryBytes` wait here: fetch no more of this partition; and when they have gone: go on. */
  pause(assignment: Assignment): void;
  resume(assignment: Assignment): void;
  onFailed(error: unknown): void;
}

/**
 * One partition for the time of one assignment: what was fetched and not yet delivered. It takes fetched batches without
 * making kafkajs wait, since one waiting partition would hold up the fetches and heartbeats of all, and delivers them one
 * call at a time. While a call is held, at most `deliveryBytes` and one fetch wait behind it.
 */
export class Lane {
  /** Offset of the next message to take; undefined until the first batch. */
  expected: bigint | undefined;
  /** Where a batch that did not fit began, after asking for the right position once. */
  seeking: bigint | undefined;
  /** Highest offset committed in this assignment. */
  committed = 0n;
  private readonly queue: ReceivedMessage[] = [];
  private queuedBytes = 0;
  private paused = false;
  private stopped = false;
  private delivering: Promise<void> | undefined;

  constructor(
    readonly assignment: Assignment,
    /** Bound to the generation of this assignment. */
    readonly offsets: OffsetManager,
    private readonly options: LaneOptions,
  ) {}

  push(messages: ReceivedMessage[]): void {
    for (const message of messages) {
      this.queue.push(message);
      this.queuedBytes += message.value.byteLength;
    }
    if (!this.paused && this.queuedBytes >= this.options.deliveryBytes) {
      this.paused = true;
      this.options.pause(this.assignment);
    }
    this.delivering ??= this.deliver();
  }

  /** No further call is made; resolves when the one under way has ended. */
  async stop(): Promise<void> {
    this.stopped = true;
    this.queue.length = 0;
    await this.delivering;
  }

  private async deliver(): Promise<void> {
    try {
      // Not within `push`: the fetch loop of kafkajs must not depend on what a handler does at once.
      await Promise.resolve();
      while (!this.stopped && this.queue.length > 0) {
        await this.options.handlers.onMessages(this.takeCall(), this.assignment);
      }
    } catch (error) {
      if (!this.stopped) this.options.onFailed(error);
    } finally {
      this.delivering = undefined;
    }
  }

  private takeCall(): ReceivedMessage[] {
    let bytes = 0;
    let count = 0;
    for (const { value } of this.queue) {
      if (count === this.options.deliveryMessages) break;
      if (count > 0 && bytes + value.byteLength > this.options.deliveryBytes) break;
      bytes += value.byteLength;
      count++;
    }
    this.queuedBytes -= bytes;
    if (this.paused && this.queuedBytes < this.options.deliveryBytes) {
      this.paused = false;
      this.options.resume(this.assignment);
    }
    return this.queue.splice(0, count);
  }
}
