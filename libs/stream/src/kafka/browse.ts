import { randomUUID } from 'node:crypto';
import type { Admin } from 'kafkajs';
import { newestLast } from '../browse-order.js';
import { type KafkaConfig, MAX_MESSAGE_BYTES } from '../config.js';
import type { ReceivedMessage } from '../port.js';
import { kafkaClient, retriesFor } from './client.js';
import { receivedFrom } from './received.js';

const WITHIN_MS = 15_000;

/**
 * The newest `limit` messages of a topic. kafkajs reads only as a member of a group, so this joins a group of its own for
 * the moment and removes it; on a broker with the default group.initial.rebalance.delay.ms that takes three seconds.
 */
export async function browseTopic(
  admin: Admin,
  config: KafkaConfig,
  topic: { name: string; kafkaName: string; limit: number },
  onProblem: (error: unknown) => void,
): Promise<ReceivedMessage[]> {
  const ends = await admin.fetchTopicOffsets(topic.kafkaName);
  const wanted = new Map<number, { from: bigint; end: bigint }>();
  for (const { partition, low, high } of ends) {
    const oldest = BigInt(low);
    const end = BigInt(high);
    const from = end - BigInt(topic.limit);
    if (end > oldest) wanted.set(partition, { from: from > oldest ? from : oldest, end });
  }
  if (wanted.size === 0) return [];
  const groupId = `${config.topicPrefix}browse-${randomUUID()}`;
  const consumer = kafkaClient(config, onProblem, retriesFor(WITHIN_MS)).consumer({
    groupId,
    maxBytesPerPartition: MAX_MESSAGE_BYTES,
    maxWaitTimeInMs: 100,
    allowAutoTopicCreation: false,
  });
  const messages: ReceivedMessage[] = [];
  try {
    await consumer.connect();
    await consumer.subscribe({ topics: [topic.kafkaName], fromBeginning: true });
    await new Promise<void>((resolve, reject) => {
      const late = setTimeout(() => reject(new Error(`browsing took more than ${WITHIN_MS} ms`)), WITHIN_MS);
      const finish = () => {
        clearTimeout(late);
        resolve();
      };
      const running = consumer.run({
        autoCommit: false,
        eachBatch: async ({ batch }) => {
          const range = wanted.get(batch.partition);
          if (!range) return;
          for (const message of batch.messages) {
            const received = receivedFrom(message, { topic: topic.name, partition: batch.partition });
            if (received.offset >= range.from && received.offset < range.end) messages.push(received);
          }
          if (BigInt(batch.lastOffset()) + 1n >= range.end) wanted.delete(batch.partition);
          if (wanted.size === 0) finish();
        },
      });
      running.then(() => {
        for (const [partition, { from }] of wanted) {
          consumer.seek({ topic: topic.kafkaName, partition, offset: from.toString() });
        }
      }, reject);
    });
  } finally {
    await consumer.disconnect();
    await admin.deleteGroups([groupId]).catch(onProblem);
  }
  const unique = new Map(messages.map((message) => [`${message.partition}/${message.offset}`, message]));
  return newestLast([...unique.values()], topic.limit);
}
