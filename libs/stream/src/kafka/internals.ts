import { createRequire } from 'node:module';

/**
 * Four corrections inside kafkajs 2.2.4, which is pinned and no longer released. Each checks that what it corrects is
 * there, so another version fails at start instead of behaving otherwise.
 *
 * 1. `RequestQueue.scheduleCheckPendingRequests` sets a timer of 1 ms, for ever, whether or not requests wait (upstream
 *    threads 1751, 1768). Measured here on an idle consumer: see docs/stream.md.
 * 2. `ConsumerGroup.joinAndSync` has no point at which a member can finish its work before the partitions go to others.
 *    Here it first awaits `beforeJoin` of the assigner that libs/stream supplies, with heartbeats going on meanwhile.
 * 3. After the join it hands over the offset manager of that generation: a commit through it carries the generation of the
 *    partitions' assignment, so the broker refuses it when they have gone to another member. The public `commitOffsets`
 *    takes whatever generation is current when it is retried, and could set another member's offset back.
 * 4. A member that the broker no longer knows forgets its id and joins again; when that join fails (the coordinator is being
 *    moved), kafkajs goes on fetching without an id, sends no heartbeat for want of one, and so never hears that it is
 *    in no group: it stands still for ever. Here a failed join ends the consumer's run, and kafkajs starts it anew.
 */
const require = createRequire(import.meta.url);

export interface OffsetManager {
  committedOffsets(): Record<string, Record<number, string | undefined>>;
  commitOffsets(offsets: {
    topics: { topic: string; partitions: { partition: number; offset: string }[] }[];
  }): Promise<void>;
}

/** What the consumer of libs/stream is told of the group's changes. */
export interface GroupHooks {
  beforeJoin(): Promise<void>;
  afterJoin(assigned: { topic: string; partitions: number[] }[], offsets: OffsetManager): void;
}

interface ConsumerGroupInternals {
  assigners: { hooks?: GroupHooks }[];
  coordinator: { heartbeat(request: object): Promise<unknown> } | null;
  groupId: string;
  generationId: number | null;
  memberId: string | null;
  sessionTimeout: number;
  offsetManager: OffsetManager;
  assigned(): { topic: string; partitions: number[] }[];
}

interface RequestQueueInternals {
  pending: unknown[];
  throttledUntil: number;
  throttleCheckTimeoutId: NodeJS.Timeout | null;
  checkPendingRequests(): void;
}

const HEARTBEAT_EVERY_MS = 2_000;
const CHECK_PENDING_EVERY_MS = 10;
const CORRECTED = Symbol.for('tallybay.stream.kafkajs-corrected');

/** Once per process, however often this module is loaded. */
export function correctKafkajs(): void {
  const requestQueue = require('kafkajs/src/network/requestQueue/index.js') as { prototype: object };
  const consumerGroup = require('kafkajs/src/consumer/consumerGroup.js') as { prototype: object };
  if (CORRECTED in requestQueue) return;
  replace(requestQueue.prototype, 'scheduleCheckPendingRequests', () => scheduleCheckPendingRequests);
  replace(consumerGroup.prototype, 'joinAndSync', joinWithHandOver);
  Object.defineProperty(requestQueue, CORRECTED, { value: true });
}

type Method = (this: never, ...args: never[]) => unknown;

function replace(prototype: object, name: string, replacement: (original: () => Promise<void>) => Method): void {
  const original = (prototype as Record<string, unknown>)[name];
  if (typeof original !== 'function') throw new Error(`kafkajs has no ${name}: libs/stream is made for kafkajs 2.2.4`);
  (prototype as Record<string, unknown>)[name] = replacement(original as () => Promise<void>);
}

/** As the original, but without a timer when there is nothing to check. */
function scheduleCheckPendingRequests(this: RequestQueueInternals): void {
  if (this.throttleCheckTimeoutId || this.pending.length === 0) return;
  const throttledMs = this.throttledUntil - Date.now();
  this.throttleCheckTimeoutId = setTimeout(
    () => {
      this.throttleCheckTimeoutId = null;
      this.checkPendingRequests();
    },
    throttledMs > 0 ? throttledMs : CHECK_PENDING_EVERY_MS,
  );
}

function joinWithHandOver(original: () => Promise<void>) {
  return async function joinAndSync(this: ConsumerGroupInternals): Promise<void> {
    const hooks = this.assigners[0]?.hooks;
    if (hooks) await withHeartbeats(this, hooks.beforeJoin());
    await original.call(this).catch((error: unknown) => {
      throw new JoinFailed(error);
    });
    hooks?.afterJoin(this.assigned(), this.offsetManager);
  };
}

/** Not to be retried where it is thrown; whether the consumer starts anew is decided by the cause. */
class JoinFailed extends Error {
  override readonly name = 'JoinFailed';
  readonly retriable = false;

  constructor(cause: unknown) {
    super(`joining the group failed: ${cause instanceof Error ? cause.message : String(cause)}`, { cause });
  }
}

/** A member that does not beat is dropped at the session time-out, also while it is finishing its work. */
async function withHeartbeats(group: ConsumerGroupInternals, work: Promise<void>): Promise<void> {
  const { groupId, memberId, generationId } = group;
  const timer = setInterval(
    () => {
      if (!group.coordinator || !memberId) return;
      // The answer is "rebalance in progress", which is known; the request itself is what counts.
      group.coordinator.heartbeat({ groupId, memberId, groupGenerationId: generationId }).catch(() => {});
    },
    Math.min(HEARTBEAT_EVERY_MS, group.sessionTimeout / 3),
  );
  try {
    await work;
  } finally {
    clearInterval(timer);
  }
}
