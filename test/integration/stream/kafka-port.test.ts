import { randomUUID } from 'node:crypto';
import { openStream, type StreamConfig } from '@tallybay/stream';
import { ConfigResourceTypes, Kafka, logLevel } from 'kafkajs';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { type AnyBroker, anyBroker } from '../../faults/broker.js';
import { describePort } from './port-contract.js';

let kafka: AnyBroker;

beforeAll(async () => {
  kafka = await anyBroker();
  console.log(`Kafka at ${kafka.brokers.join(', ')} (${kafka.origin})`);
});

afterAll(async () => {
  await kafka?.stop();
});

const onKafka = (topics: string[], more: Partial<Extract<StreamConfig, { kind: 'kafka' }>> = {}) =>
  ({
    kind: 'kafka',
    brokers: kafka.brokers,
    partitions: 4,
    topicPrefix: `t${randomUUID().slice(0, 8)}.`,
    topics,
    ...more,
  }) as const;

describePort('Apache Kafka', async (topics) => onKafka(topics));

describe('topics on Apache Kafka', () => {
  it('are created with the stated partitions, retention and min in-sync replicas, and not changed later', async () => {
    const config = onKafka(['one.v1', 'two.v1'], { partitions: 3, retentionMs: 7_200_000 });
    const stream = await openStream(config);
    onTestFinished(() => stream.close());
    await stream.prepare();
    const admin = new Kafka({ brokers: kafka.brokers, logLevel: logLevel.NOTHING }).admin();
    await admin.connect();
    onTestFinished(() => admin.disconnect());
    const names = config.topics.map((topic) => config.topicPrefix + topic);
    const settings = async (name: string) => {
      const { resources } = await admin.describeConfigs({
        includeSynonyms: false,
        resources: [{ type: ConfigResourceTypes.TOPIC, name }],
      });
      return Object.fromEntries(resources[0]!.configEntries.map((entry) => [entry.configName, entry.configValue]));
    };
    const stated = { 'retention.ms': '7200000', 'min.insync.replicas': '1', 'cleanup.policy': 'delete' };
    for (const name of names) expect(await settings(name)).toMatchObject(stated);
    const later = await openStream({ ...config, partitions: 5, retentionMs: 1_000_000 });
    onTestFinished(() => later.close());
    await later.prepare();
    for (const name of names) expect(await settings(name)).toMatchObject(stated);
    const { topics } = await admin.fetchTopicMetadata({ topics: names });
    // More partitions are added: that is how a group gets room for more workers.
    expect(topics.map(({ partitions }) => partitions.length)).toEqual([5, 5]);
  });

  it('without enough in-sync replicas are refused at start, in words', async () => {
    const stream = await openStream(onKafka(['one.v1'], { minInsyncReplicas: 2 }));
    onTestFinished(() => stream.close());
    await expect(stream.prepare()).rejects.toMatchObject({
      code: 'stream_unavailable',
      message: expect.stringMatching(/1 in-sync replicas, 2 are needed/),
    });
  });
});
