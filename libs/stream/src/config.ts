import { TOPICS } from '@tallybay/contracts';
import { z } from 'zod';

/** Largest key + headers + value of one message, on both carriers (Kafka: topic and fetch limits are set to match). */
export const MAX_MESSAGE_BYTES = 8 * 1024 * 1024;
const DAY_MS = 24 * 3600 * 1000;

const shared = {
  /** Topics that `prepare` creates and that may be used; by default all of contracts. */
  topics: z.array(z.string().regex(/^[a-z0-9][a-z0-9._-]*$/)).default(Object.values(TOPICS)),
  /** Upper bound of one `onMessages` call, summed over values; one larger message is still delivered, alone. */
  deliveryBytes: z
    .number()
    .int()
    .positive()
    .default(8 * 1024 * 1024),
  /** Upper bound of messages in one `onMessages` call. */
  deliveryMessages: z.number().int().positive().default(1000),
};

export const spoolConfigSchema = z.object({
  kind: z.literal('spool'),
  directory: z.string().min(1),
  /** Partitions per topic. Raising it later moves keys to other partitions; lowering it is ignored. */
  partitions: z.number().int().min(1).max(256).default(4),
  /** A segment file is closed once it has reached this size. */
  segmentBytes: z
    .number()
    .int()
    .min(4096)
    .default(128 * 1024 * 1024),
  /** Segments are deleted once every group has committed past them, and not before this age. */
  keepReadMs: z.number().int().nonnegative().default(0),
  /** Segments of a topic that no group reads (events, dead letters) are deleted at this age. */
  keepUnreadMs: z
    .number()
    .int()
    .positive()
    .default(90 * DAY_MS),
  /**
   * A record whose checksum is wrong: `halt` stops the consumer with `stream_corrupt`, which names file and offset;
   * `skip` reports the same error to `onProblem` and goes on behind it (decode that upload again from landing).
   */
  onCorrupt: z.enum(['halt', 'skip']).default('halt'),
  ...shared,
});

export const kafkaConfigSchema = z.object({
  kind: z.literal('kafka'),
  brokers: z.array(z.string().min(1)).min(1),
  clientId: z.string().min(1).default('tallybay'),
  partitions: z.number().int().min(1).default(12),
  replicationFactor: z.number().int().min(1).default(1),
  minInsyncReplicas: z.number().int().min(1).default(1),
  retentionMs: z
    .number()
    .int()
    .positive()
    .default(14 * DAY_MS),
  /** `send` rejects with `stream_unavailable` when it has no acknowledgement by then. */
  sendTimeoutMs: z.number().int().positive().default(10_000),
  /** A member that sends no heartbeat for this long loses its partitions. */
  sessionTimeoutMs: z.number().int().min(1000).default(30_000),
  /** How long a rebalance waits for members to hand over; bounds the time that `onRevoked` may take. */
  rebalanceTimeoutMs: z.number().int().min(1000).default(60_000),
  /** Put before every topic and group name, to share one cluster between installations. */
  topicPrefix: z
    .string()
    .regex(/^[a-zA-Z0-9._-]*$/)
    .default(''),
  tls: z.boolean().default(false),
  sasl: z
    .object({
      mechanism: z.enum(['plain', 'scram-sha-256', 'scram-sha-512']),
      username: z.string().min(1),
      password: z.string().min(1),
    })
    .optional(),
  ...shared,
});

export const streamConfigSchema = z.discriminatedUnion('kind', [spoolConfigSchema, kafkaConfigSchema]);

/** What a person writes; defaults may be left out. */
export type StreamConfig = z.input<typeof streamConfigSchema>;
export type SpoolConfig = z.output<typeof spoolConfigSchema>;
export type KafkaConfig = z.output<typeof kafkaConfigSchema>;
