import { TallybayError } from '@tallybay/contracts';
import type { Admin } from 'kafkajs';
import type { KafkaConfig } from '../config.js';
import type { ReceivedMessage, Stream, StreamConsumer, StreamProducer } from '../port.js';
import { streamClosed } from '../stream-closed.js';
import { browseTopic } from './browse.js';
import { kafkaClient, retriesFor } from './client.js';
import { KafkaConsumer } from './consumer.js';
import { kafkaUnavailable } from './kafka-problem.js';
import { KafkaProducer } from './producer.js';
import { prepareTopics } from './topics.js';

/** Apache Kafka behind the port, by kafkajs. Nothing is connected before the first use. */
export function openKafka(config: KafkaConfig, onProblem: (error: unknown) => void): Stream {
  return new KafkaStream(config, onProblem);
}

class KafkaStream implements Stream {
  private connecting: Promise<Admin> | undefined;
  private readonly parts = new Set<{ close(): Promise<void> }>();
  private closed = false;

  constructor(
    private readonly config: KafkaConfig,
    private readonly onProblem: (error: unknown) => void,
  ) {}

  prepare(): Promise<void> {
    const topics = this.config.topics.map((topic) => this.kafkaName(topic));
    return this.withAdmin('prepare topics', (admin) => prepareTopics(admin, this.config, topics));
  }

  async producer(): Promise<StreamProducer> {
    this.assertOpen();
    return this.track(new KafkaProducer(this.config, this.onProblem, (topic) => this.kafkaName(topic)));
  }

  async consumer(group: string, topics: string[]): Promise<StreamConsumer> {
    this.assertOpen();
    const groupId = this.config.topicPrefix + group;
    const names = {
      toKafka: (topic: string) => this.kafkaName(topic),
      fromKafka: (name: string) => name.slice(this.config.topicPrefix.length),
    };
    for (const topic of topics) names.toKafka(topic);
    const readLag = () => this.lag(groupId, topics);
    return this.track(new KafkaConsumer(this.config, { groupId, topics, names }, readLag, this.onProblem));
  }

  browse(topic: string, limit: number): Promise<ReceivedMessage[]> {
    const kafkaName = this.kafkaName(topic);
    return this.withAdmin(`browse ${kafkaName}`, (admin) =>
      browseTopic(admin, this.config, { name: topic, kafkaName, limit }, this.onProblem),
    );
  }

  async close(): Promise<void> {
    if (this.closed) return;
    this.closed = true;
    await Promise.all([...this.parts].map((part) => part.close()));
    await (await this.connecting?.catch(() => undefined))?.disconnect();
  }

  private lag(groupId: string, topics: string[]) {
    return this.withAdmin(`read the lag of ${groupId}`, async (admin) => {
      const committedOf = await admin.fetchOffsets({ groupId, topics: topics.map((topic) => this.kafkaName(topic)) });
      const perTopic = topics.map(async (topic) => {
        const name = this.kafkaName(topic);
        const committed = new Map(
          committedOf.find((row) => row.topic === name)?.partitions.map((row) => [row.partition, BigInt(row.offset)]),
        );
        return (await admin.fetchTopicOffsets(name)).map(({ partition, low, high }) => {
          // Below the oldest message there is nothing to be read, whether it was committed or deleted by retention.
          const [oldest, offset] = [BigInt(low), committed.get(partition) ?? -1n];
          return { topic, partition, committed: offset > oldest ? offset : oldest, end: BigInt(high) };
        });
      });
      return (await Promise.all(perTopic)).flat().sort((a, b) => a.partition - b.partition);
    });
  }

  private async withAdmin<T>(doing: string, work: (admin: Admin) => Promise<T>): Promise<T> {
    this.assertOpen();
    try {
      this.connecting ??= this.connectAdmin();
      return await work(await this.connecting);
    } catch (error) {
      throw kafkaUnavailable(doing, this.config.brokers, error);
    }
  }

  private async connectAdmin(): Promise<Admin> {
    const admin = kafkaClient(this.config, this.onProblem, retriesFor(this.config.sendTimeoutMs)).admin();
    try {
      await admin.connect();
      return admin;
    } catch (error) {
      this.connecting = undefined;
      throw error;
    }
  }

  /** @throws TallybayError `parameter_invalid` for a topic that was not configured */
  private kafkaName(topic: string): string {
    if (this.config.topics.includes(topic)) return this.config.topicPrefix + topic;
    throw new TallybayError('parameter_invalid', `Topic "${topic}" is not one of ${this.config.topics.join(', ')}`, {
      advice: 'Name it in the stream configuration.',
    });
  }

  private track<T extends { close(): Promise<void> }>(part: T): T {
    this.parts.add(part);
    return part;
  }

  private assertOpen(): void {
    if (this.closed) throw streamClosed('The stream');
  }
}
