import { join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { z } from 'zod';
import type { StreamConfig } from './config.js';

const whole = (least: number, most: number) => z.coerce.number().int().min(least).max(most);

/** A delivery stays in memory until its last chunk is decoded; the spool is next door, so small ones cost nothing. */
const SPOOL_DELIVERY_BYTES = 2 * 1024 * 1024;

/** The variables by which every service is told of the stream: part of each app's own schema. */
export const streamEnvironmentShape = {
  /** Comma-separated host:port; without it the embedded spool under TALLYBAY_HOME carries the stream. */
  TALLYBAY_KAFKA_BROKERS: z.string().optional(),
  TALLYBAY_KAFKA_PARTITIONS: whole(1, 1000).default(12),
  TALLYBAY_KAFKA_REPLICATION: whole(1, 9).default(1),
  TALLYBAY_KAFKA_MIN_INSYNC: whole(1, 9).default(1),
  TALLYBAY_KAFKA_RETENTION_HOURS: whole(1, 24 * 3650).default(24 * 14),
  TALLYBAY_KAFKA_TOPIC_PREFIX: z
    .string()
    .regex(/^[a-zA-Z0-9._-]*$/, 'letters, digits, ".", "_" and "-" only')
    .default(''),
  /** A worker that is silent for so long loses its partitions to the others. */
  TALLYBAY_KAFKA_SESSION_SECONDS: whole(6, 300).default(30),
  TALLYBAY_KAFKA_TLS: z.enum(['true', 'false']).default('false'),
  TALLYBAY_KAFKA_SASL: z.enum(['plain', 'scram-sha-256', 'scram-sha-512']).optional(),
  TALLYBAY_KAFKA_USERNAME: z.string().optional(),
  TALLYBAY_KAFKA_PASSWORD: z.string().optional(),
  TALLYBAY_SPOOL_PARTITIONS: whole(1, 256).default(4),
} as const;

type StreamEnvironment = z.output<z.ZodObject<typeof streamEnvironmentShape>>;

/** @throws TallybayError `config_invalid` when settings contradict each other */
export function streamConfigFrom(env: StreamEnvironment, home: string): StreamConfig {
  const brokers = (env.TALLYBAY_KAFKA_BROKERS ?? '')
    .split(',')
    .map((broker) => broker.trim())
    .filter((broker) => broker !== '');
  if (brokers.length === 0)
    return {
      kind: 'spool',
      directory: join(home, 'spool'),
      partitions: env.TALLYBAY_SPOOL_PARTITIONS,
      deliveryBytes: SPOOL_DELIVERY_BYTES,
    };
  if (env.TALLYBAY_KAFKA_MIN_INSYNC > env.TALLYBAY_KAFKA_REPLICATION)
    throw new TallybayError(
      'config_invalid',
      `TALLYBAY_KAFKA_MIN_INSYNC=${env.TALLYBAY_KAFKA_MIN_INSYNC} is more than TALLYBAY_KAFKA_REPLICATION=${env.TALLYBAY_KAFKA_REPLICATION}`,
      { advice: 'No write could ever be acknowledged. Lower the one or raise the other.' },
    );
  return {
    kind: 'kafka',
    brokers,
    partitions: env.TALLYBAY_KAFKA_PARTITIONS,
    replicationFactor: env.TALLYBAY_KAFKA_REPLICATION,
    minInsyncReplicas: env.TALLYBAY_KAFKA_MIN_INSYNC,
    retentionMs: env.TALLYBAY_KAFKA_RETENTION_HOURS * 3_600_000,
    topicPrefix: env.TALLYBAY_KAFKA_TOPIC_PREFIX,
    sessionTimeoutMs: env.TALLYBAY_KAFKA_SESSION_SECONDS * 1000,
    tls: env.TALLYBAY_KAFKA_TLS === 'true',
    ...saslFrom(env),
  };
}

function saslFrom(env: StreamEnvironment) {
  const { TALLYBAY_KAFKA_SASL: mechanism, TALLYBAY_KAFKA_USERNAME: username, TALLYBAY_KAFKA_PASSWORD: password } = env;
  if (!mechanism && !username && !password) return {};
  if (mechanism && username && password) return { sasl: { mechanism, username, password } };
  throw new TallybayError(
    'config_invalid',
    'Of TALLYBAY_KAFKA_SASL, TALLYBAY_KAFKA_USERNAME and TALLYBAY_KAFKA_PASSWORD some are set and some are not',
    { advice: 'Set all three, or none.' },
  );
}
