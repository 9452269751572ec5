import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll } from 'vitest';
import { type KafkaForTests, kafkaForTests } from './kafka-for-tests.js';
import { describePort } from './port-contract.js';

let kafka: KafkaForTests;

beforeAll(async () => {
  kafka = await kafkaForTests();
});

afterAll(async () => {
  await kafka?.stop();
});

describePort('Apache Kafka', async (topics) => ({
  kind: 'kafka',
  brokers: kafka.brokers,
  partitions: 4,
  topicPrefix: `t${randomUUID().slice(0, 8)}.`,
  topics,
}));
