import { TallybayError } from '@tallybay/contracts';
import type { Admin } from 'kafkajs';
import { type KafkaConfig, MAX_MESSAGE_BYTES } from '../config.js';

/** Room above the largest message for the record batch around it. */
export const MAX_BATCH_BYTES = MAX_MESSAGE_BYTES + 64 * 1024;

/**
 * Creates missing topics and partitions, then checks that each partition has a leader and enough in-sync replicas to take
 * writes. Existing topics keep their settings; more partitions than configured are left as they are.
 */
export async function prepareTopics(admin: Admin, config: KafkaConfig, topics: string[]): Promise<void> {
  const existing = new Set(await admin.listTopics());
  const missing = topics.filter((topic) => !existing.has(topic));
  if (missing.length > 0) {
    await admin.createTopics({ waitForLeaders: true, topics: missing.map((topic) => topicSettings(topic, config)) });
  }
  const known = await admin.fetchTopicMetadata({ topics });
  const small = known.topics.filter(({ partitions }) => partitions.length < config.partitions);
  if (small.length > 0) {
    await admin.createPartitions({
      topicPartitions: small.map(({ name }) => ({ topic: name, count: config.partitions })),
    });
  }
  for (const { name, partitions } of known.topics) {
    const weak = partitions.find(({ leader, isr }) => leader < 0 || isr.length < config.minInsyncReplicas);
    if (!weak) continue;
    throw new TallybayError(
      'stream_unavailable',
      `Topic ${name}, partition ${weak.partitionId} has ${weak.isr.length} in-sync replicas, ${config.minInsyncReplicas} are needed`,
      { advice: 'Bring the missing brokers back, or lower min in-sync replicas.' },
    );
  }
}

function topicSettings(topic: string, config: KafkaConfig) {
  const entries = {
    'retention.ms': config.retentionMs,
    'min.insync.replicas': config.minInsyncReplicas,
    'max.message.bytes': MAX_BATCH_BYTES,
    'cleanup.policy': 'delete',
  };
  return {
    topic,
    numPartitions: config.partitions,
    replicationFactor: config.replicationFactor,
    configEntries: Object.entries(entries).map(([name, value]) => ({ name, value: `${value}` })),
  };
}
