import { connect } from 'node:net';
import { KafkaContainer } from '@testcontainers/kafka';
import { getContainerRuntimeClient } from 'testcontainers';
import { missingForBroker, startLocalBroker } from '../../../infra/kafka/local-broker.mjs';

export interface KafkaForTests {
  brokers: string[];
  /** Where the broker comes from, for the log of a test run. */
  origin: 'KAFKA_BROKERS' | 'testcontainers' | 'local process';
  stop(): Promise<void>;
}

/** The image line that @testcontainers/kafka is made for; 7.9 carries Kafka 3.9. */
const IMAGE = 'confluentinc/cp-kafka:7.9.1';

/**
 * A real broker: the one that KAFKA_BROKERS names, else one in a container where a container runtime answers, else one as
 * a local process. With none of them it fails and says what is missing: these tests are never passed over.
 */
export async function kafkaForTests(): Promise<KafkaForTests> {
  const named = process.env.KAFKA_BROKERS;
  if (named) {
    const brokers = named.split(',');
    await Promise.any(brokers.map(answers)).catch(() => {
      throw new Error(`KAFKA_BROKERS is ${named}, but none of these brokers takes a connection.`);
    });
    return { brokers, origin: 'KAFKA_BROKERS', stop: async () => {} };
  }
  if (await hasContainerRuntime()) {
    const container = await new KafkaContainer(IMAGE).withKraft().start();
    const brokers = [`${container.getHost()}:${container.getMappedPort(9093)}`];
    return { brokers, origin: 'testcontainers', stop: async () => void (await container.stop()) };
  }
  const missing = missingForBroker();
  if (missing) throw new Error(`KAFKA_BROKERS is not set and no container runtime answers. ${missing}`);
  const broker = await startLocalBroker();
  return { brokers: broker.brokers, origin: 'local process', stop: () => broker.stop() };
}

async function hasContainerRuntime(): Promise<boolean> {
  try {
    await getContainerRuntimeClient();
    return true;
  } catch {
    return false;
  }
}

async function answers(address: string): Promise<void> {
  const [host, port] = address.split(':');
  const socket = connect(Number(port), host);
  await new Promise((resolve, reject) => {
    socket.setTimeout(5_000, () => reject(new Error('no answer')));
    socket.once('connect', resolve).once('error', reject);
  }).finally(() => socket.destroy());
}
