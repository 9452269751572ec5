import { streamConfigFrom, streamConfigSchema, streamEnvironmentShape } from '@tallybay/stream';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';

const configOf = (environment: Record<string, string>) =>
  streamConfigFrom(z.object(streamEnvironmentShape).parse(environment), '/home/t');

describe('the stream by environment', () => {
  it('is the spool under the home folder unless brokers are named', () => {
    expect(configOf({})).toEqual({
      kind: 'spool',
      directory: '/home/t/spool',
      partitions: 4,
      deliveryBytes: 2 * 1024 * 1024,
    });
    expect(configOf({ TALLYBAY_KAFKA_BROKERS: ' , ' })).toMatchObject({ kind: 'spool' });
  });

  it('is Kafka with every setting that was given', () => {
    const config = configOf({
      TALLYBAY_KAFKA_BROKERS: 'a:9092, b:9092',
      TALLYBAY_KAFKA_PARTITIONS: '24',
      TALLYBAY_KAFKA_REPLICATION: '3',
      TALLYBAY_KAFKA_MIN_INSYNC: '2',
      TALLYBAY_KAFKA_RETENTION_HOURS: '48',
      TALLYBAY_KAFKA_TOPIC_PREFIX: 'kv.',
      TALLYBAY_KAFKA_SESSION_SECONDS: '12',
      TALLYBAY_KAFKA_TLS: 'true',
      TALLYBAY_KAFKA_SASL: 'scram-sha-512',
      TALLYBAY_KAFKA_USERNAME: 'u',
      TALLYBAY_KAFKA_PASSWORD: 'p',
    });
    expect(streamConfigSchema.parse(config)).toMatchObject({
      kind: 'kafka',
      brokers: ['a:9092', 'b:9092'],
      partitions: 24,
      replicationFactor: 3,
      minInsyncReplicas: 2,
      retentionMs: 48 * 3_600_000,
      topicPrefix: 'kv.',
      sessionTimeoutMs: 12_000,
      tls: true,
      sasl: { mechanism: 'scram-sha-512', username: 'u', password: 'p' },
    });
  });

  it('refuses settings with which nothing could ever be written, or half a login', () => {
    const brokers = { TALLYBAY_KAFKA_BROKERS: 'a:9092' };
    expect(() => configOf({ ...brokers, TALLYBAY_KAFKA_MIN_INSYNC: '2' })).toThrow(/MIN_INSYNC=2 is more than/);
    expect(() => configOf({ ...brokers, TALLYBAY_KAFKA_USERNAME: 'u' })).toThrow(/some are set and some are not/);
  });
});
