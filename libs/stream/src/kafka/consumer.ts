import { TallybayError } from '@tallybay/contracts';
import { type Consumer, type EachBatchPayload, PartitionAssigners } from 'kafkajs';
import { type KafkaConfig, MAX_MESSAGE_BYTES } from '../config.js';
import type { Assignment, ConsumerHandlers, StreamConsumer } from '../port.js';
import { streamClosed } from '../stream-closed.js';
import { kafkaClient, retriesFor } from './client.js';
import type { GroupHooks, OffsetManager } from './internals.js';
import { isAssignmentLost, kafkaUnavailable } from './kafka-problem.js';
import { Lane } from './lane.js';
import { receivedFrom } from './received.js';

/** How long a fetch waits for news; also how late a paused partition goes on when all others are paused too. */
const FETCH_WAIT_MS = 200;
/** Also how late a member may hear of a rebalance, during which the others stand still. */
const HEARTBEAT_EVERY_MS = 1_000;
const COMMIT_WITHIN_MS = 10_000;
/** How long an `onMessages` call may go unanswered when its partition is given up. */
const SETTLE_MS = 5_000;

export interface TopicNames {
  toKafka(topic: string): string;
  fromKafka(name: string): string;
}

/**
 * A member of a Kafka consumer group. kafkajs fetches and keeps the membership; deliveries run beside its loop in one lane
 * per partition. Rebalances are eager: before each join, all lanes stop, `onRevoked` runs to its end (its commits still
 * belong to the old generation, which the broker accepts until the join), and the new assignment starts at the committed
 * offsets. A lane is bound to the generation that made it, so a late commit cannot touch another member's partition.
 */
export class KafkaConsumer implements StreamConsumer {
  private readonly consumer: Consumer;
  private readonly lanes = new Map<string, Lane>();
  private handlers: ConsumerHandlers | undefined;
  private revoking: Promise<void> | undefined;
  private ending: Promise<void> | undefined;

  constructor(
    private readonly config: KafkaConfig,
    private readonly place: { groupId: string; topics: string[]; names: TopicNames },
    private readonly readLag: () => ReturnType<StreamConsumer['lag']>,
    private readonly onProblem: (error: unknown) => void,
  ) {
    const hooks: GroupHooks = {
      beforeJoin: () => this.revokeAll(),
      afterJoin: (assigned, offsets) => this.assign(assigned, offsets),
    };
    const { sessionTimeoutMs, rebalanceTimeoutMs, deliveryBytes } = config;
    const retry = retriesFor(COMMIT_WITHIN_MS);
    this.consumer = kafkaClient(config, onProblem, retry).consumer({
      groupId: place.groupId,
      sessionTimeout: sessionTimeoutMs,
      rebalanceTimeout: rebalanceTimeoutMs,
      heartbeatInterval: Math.min(HEARTBEAT_EVERY_MS, sessionTimeoutMs / 3),
      maxWaitTimeInMs: FETCH_WAIT_MS,
      maxBytesPerPartition: Math.min(deliveryBytes, MAX_MESSAGE_BYTES),
      maxBytes: 2 * MAX_MESSAGE_BYTES,
      allowAutoTopicCreation: false,
      partitionAssigners: [(context) => ({ ...PartitionAssigners.roundRobin(context), hooks })],
      retry,
    });
  }

  async run(handlers: ConsumerHandlers): Promise<void> {
    if (this.handlers || this.ending) throw streamClosed('This consumer runs already or');
    this.handlers = handlers;
    const { topics, names } = this.place;
    this.consumer.on('consumer.crash', ({ payload }) => {
      const problem = kafkaUnavailable('consume', this.config.brokers, payload.error);
      if (!payload.restart) return this.fail(problem);
      this.onProblem(problem);
      // kafkajs has left the group and will join anew: what is open here is delivered again, perhaps to another member.
      return this.revokeAll();
    });
    try {
      await this.consumer.connect();
      await this.consumer.subscribe({ topics: topics.map(names.toKafka), fromBeginning: true });
      await this.consumer.run({
        autoCommit: false,
        eachBatchAutoResolve: false,
        partitionsConsumedConcurrently: 1,
        eachBatch: async (payload) => this.takeBatch(payload),
      });
    } catch (error) {
      throw kafkaUnavailable(`join group ${this.place.groupId}`, this.config.brokers, error);
    }
  }

  /** @throws TallybayError `partition_lost`, `parameter_invalid` (beyond what was delivered), `stream_unavailable` */
  async commit(assignment: Assignment, nextOffset: bigint): Promise<void> {
    const lane = this.lanes.get(keyOf(assignment));
    if (!lane) throw partitionLost(this.place.groupId, assignment);
    if (nextOffset <= lane.committed) return;
    if (nextOffset > (lane.expected ?? 0n)) {
      const where = `${assignment.topic}, partition ${assignment.partition}`;
      throw new TallybayError('parameter_invalid', `Cannot commit ${nextOffset} in ${where}: not delivered so far`);
    }
    const partitions = [{ partition: assignment.partition, offset: nextOffset.toString() }];
    const topics = [{ topic: this.place.names.toKafka(assignment.topic), partitions }];
    const giveUpAt = Date.now() + COMMIT_WITHIN_MS;
    for (let waitMs = 100; ; waitMs = Math.min(2 * waitMs, 1_000)) {
      try {
        await lane.offsets.commitOffsets({ topics });
        if (nextOffset > lane.committed) lane.committed = nextOffset;
        return;
      } catch (error) {
        if (isAssignmentLost(error)) throw partitionLost(this.place.groupId, assignment, error);
        if (Date.now() + waitMs > giveUpAt) throw kafkaUnavailable('commit', this.config.brokers, error);
        await new Promise((resolve) => setTimeout(resolve, waitMs));
      }
    }
  }

  lag() {
    return this.readLag();
  }

  close(): Promise<void> {
    this.ending ??= this.end(undefined);
    return this.ending;
  }

  /** Takes what the lane expects next and moves the fetch position behind it; anything else is fetched again or dropped. */
  private takeBatch({ batch, resolveOffset }: EachBatchPayload): void {
    const topic = this.place.names.fromKafka(batch.topic);
    const lane = this.lanes.get(keyOf({ topic, partition: batch.partition }));
    if (!lane || this.revoking) return;
    const committed = lane.offsets.committedOffsets()[batch.topic]?.[batch.partition];
    // Fetched for an earlier assignment while the offsets of this one are not known so far.
    if (lane.expected === undefined && committed === undefined) return;
    const fetched = BigInt((batch as unknown as { fetchedOffset: string }).fetchedOffset);
    lane.expected ??= startOf(committed, fetched);
    if (fetched > lane.expected && lane.seeking !== fetched) {
      // Fetched from the position of an earlier assignment: ask again from where this one stands.
      lane.seeking = fetched;
      this.consumer.seek({ topic: batch.topic, partition: batch.partition, offset: lane.expected.toString() });
      return;
    }
    if (fetched > lane.expected) this.reportGap(lane, fetched);
    lane.seeking = undefined;
    const place = { topic, partition: batch.partition };
    const messages = batch.messages.map((message) => receivedFrom(message, place));
    const from = lane.expected;
    lane.expected = BigInt(batch.lastOffset()) + 1n;
    resolveOffset(batch.messages.at(-1)?.offset ?? batch.lastOffset());
    lane.push(messages.filter(({ offset }) => offset >= from));
  }

  /** Asked for twice and again not there: the topic's retention has deleted messages that the group had not read. */
  private reportGap(lane: Lane, found: bigint): void {
    const { topic, partition } = lane.assignment;
    this.onProblem(
      new TallybayError(
        'stream_corrupt',
        `${topic}, partition ${partition}: messages ${lane.expected} to ${found - 1n} were deleted before they were read`,
        { advice: 'Lengthen the retention of the topic, then decode the uploads of that time again from landing.' },
      ),
    );
  }

  private assign(assigned: { topic: string; partitions: number[] }[], offsets: OffsetManager): void {
    if (this.ending) return;
    for (const { topic: name, partitions } of assigned) {
      const topic = this.place.names.fromKafka(name);
      for (const partition of partitions) {
        const assignment = { topic, partition };
        this.lanes.set(keyOf(assignment), this.newLane(assignment, offsets));
      }
      // kafkajs keeps a partition paused across assignments.
      this.consumer.resume([{ topic: name, partitions }]);
    }
  }

  private newLane(assignment: Assignment, offsets: OffsetManager): Lane {
    const kafkaPlace = [{ topic: this.place.names.toKafka(assignment.topic), partitions: [assignment.partition] }];
    return new Lane(assignment, offsets, {
      handlers: this.handlers!,
      deliveryBytes: this.config.deliveryBytes,
      deliveryMessages: this.config.deliveryMessages,
      pause: () => this.consumer.pause(kafkaPlace),
      resume: () => this.resume(assignment, kafkaPlace),
      onFailed: (error) => this.fail(error),
    });
  }

  private resume(assignment: Assignment, kafkaPlace: { topic: string; partitions: number[] }[]): void {
    if (!this.lanes.has(keyOf(assignment))) return;
    try {
      this.consumer.resume(kafkaPlace);
    } catch (error) {
      // kafkajs has no group while it starts again after losing the brokers; the next assignment resumes everything.
      this.onProblem(kafkaUnavailable('resume', this.config.brokers, error));
    }
  }

  private revokeAll(): Promise<void> {
    this.revoking ??= this.revokeLanes().finally(() => {
      this.revoking = undefined;
    });
    return this.revoking;
  }

  private async revokeLanes(): Promise<void> {
    const lanes = [...this.lanes.values()];
    if (lanes.length === 0) return;
    const stopped = lanes.map((lane) => lane.stop());
    try {
      await this.handlers?.onRevoked?.(lanes.map(({ assignment }) => assignment));
    } catch (error) {
      this.fail(error);
    }
    this.lanes.clear();
    await Promise.race([Promise.all(stopped), new Promise((resolve) => setTimeout(resolve, SETTLE_MS).unref())]);
  }

  private fail(error: unknown): void {
    this.ending ??= this.end(error);
  }

  /** Never rejects: it may be started by a failure that nobody awaits. */
  private async end(error: unknown): Promise<void> {
    let reason = error;
    try {
      await this.revokeAll();
      await this.consumer.disconnect();
    } catch (closeError) {
      reason ??= kafkaUnavailable('leave the group', this.config.brokers, closeError);
    }
    this.handlers?.onStopped?.(reason);
  }
}

function keyOf({ topic, partition }: Assignment): string {
  return `${topic}/${partition}`;
}

/** The committed offset; where the broker has none, kafkajs begins at the oldest message. */
function startOf(committed: string | undefined, fetched: bigint): bigint {
  const offset = BigInt(committed ?? -1);
  return offset >= 0n ? offset : fetched;
}

function partitionLost(group: string, { topic, partition }: Assignment, cause?: unknown): TallybayError {
  return new TallybayError('partition_lost', `Group ${group}: ${topic}, partition ${partition} is not assigned here`, {
    advice: 'Drop what is open for it: the member that has it now gets the same messages again.',
    cause,
  });
}
