/**
 * The stream as the path needs it, whatever carries it: an ordered log per partition, at-least-once delivery, explicit
 * commits. The embedded spool and Apache Kafka implement it alike; nothing outside this lib knows which one runs.
 */
export interface StreamMessage {
  /** Messages of one key keep their order. */
  key: string;
  /** Opaque bytes (a zstd frame for log chunks, compressed JSON for the rest). */
  value: Uint8Array;
  /** Small JSON-able facts about the value, by name; carried as message headers. */
  headers: Record<string, string>;
}

export interface ReceivedMessage extends StreamMessage {
  topic: string;
  partition: number;
  /** Monotonic within (topic, partition). */
  offset: bigint;
  /** When the stream took it, epoch ms. */
  timestampMs: number;
}

export interface StreamProducer {
  /**
   * Resolves only when every message is durable (spool: fsync; Kafka: acks=all). Order within a key is kept across calls.
   * @throws TallybayError `stream_unavailable` when that cannot be had within the deadline
   */
  send(topic: string, messages: StreamMessage[]): Promise<void>;
  close(): Promise<void>;
}

/** One partition of a topic as given to this member of the group. */
export interface Assignment {
  topic: string;
  partition: number;
}

export interface ConsumerHandlers {
  /**
   * Called with messages of one partition, in order, one call at a time per partition. Resolve when more may be delivered:
   * holding the promise is the back-pressure (the partition is paused meanwhile, heartbeats go on). Rejecting stops the
   * consumer. Delivery is not commitment: see `commit`.
   */
  onMessages(messages: ReceivedMessage[], assignment: Assignment): Promise<void>;
  /** The partition is about to go to another member: finish or drop what is open, commit, then resolve. */
  onRevoked?(assignments: Assignment[]): Promise<void>;
  /** The consumer has ended for good with this error (undefined after close()). */
  onStopped?(error?: unknown): void;
}

export interface StreamConsumer {
  /** Starts delivery from the group's committed offsets (from the oldest message where there is none). */
  run(handlers: ConsumerHandlers): Promise<void>;
  /** Everything in the partition below `nextOffset` is done and durable; never moves backwards. */
  commit(assignment: Assignment, nextOffset: bigint): Promise<void>;
  /** Messages after the committed offset, per partition. */
  lag(): Promise<{ topic: string; partition: number; committed: bigint; end: bigint }[]>;
  close(): Promise<void>;
}

export interface Stream {
  /** Creates what is missing (topics, partitions); checks that it can be written. */
  prepare(): Promise<void>;
  producer(): Promise<StreamProducer>;
  /** `group` shares the partitions among its members; committed offsets belong to the group. */
  consumer(group: string, topics: string[]): Promise<StreamConsumer>;
  /** Reads messages without a group and without commits, newest last; for showing dead letters and events. */
  browse(topic: string, limit: number): Promise<ReceivedMessage[]>;
  close(): Promise<void>;
}
