import { existsSync } from 'node:fs';
import { connect } from 'node:net';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

type Infra = typeof import('../../infra/kafka/local-broker.mjs');

/** This file runs from its source in tests and compiled in the full run, so the project's root is looked for. */
export function projectRoot(): string {
  let directory = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(directory, 'apps', 'ingest', 'package.json'))) directory = dirname(directory);
  return directory;
}

async function infra(): Promise<Infra> {
  const file = join(projectRoot(), 'infra', 'kafka', 'local-broker.mjs');
  return (await import(pathToFileURL(file).href)) as Infra;
}

/** A broker of the test's own, as a local process: for tests that end it, cut it off and start it again. */
export async function startBroker(options?: Parameters<Infra['startLocalBroker']>[0]) {
  return (await infra()).startLocalBroker(options);
}

export interface AnyBroker {
  brokers: string[];
  /** Where the broker comes from, for the log of a test run. */
  origin: 'KAFKA_BROKERS' | 'testcontainers' | 'local process';
  stop(): Promise<void>;
}

/** How brokers are found; a test of the order gives its own. */
export interface BrokerSources {
  named: string | undefined;
  hasContainerRuntime(): Promise<boolean>;
  startContainer(): Promise<AnyBroker>;
  /** What the machine lacks for a local process, as a sentence; undefined when it lacks nothing. */
  missing(): string | undefined;
  startLocal(): Promise<AnyBroker>;
}

/** The image line that @testcontainers/kafka is made for; 7.9 carries Kafka 3.9. */
const IMAGE = 'confluentinc/cp-kafka:7.9.1';

const NO_ONE_ANSWERS = 'but none of these brokers takes a connection.';

/**
 * A real broker: the one that KAFKA_BROKERS names, else one in a container where a container runtime answers, else one as
 * a local process. With none of them it fails and says what is missing: these tests are never passed over.
 */
export async function anyBroker(sources?: BrokerSources): Promise<AnyBroker> {
  const from = sources ?? (await realSources());
  if (from.named) {
    const brokers = from.named.split(',').map((broker) => broker.trim());
    await Promise.any(brokers.map(answers)).catch(() => {
      throw new Error(`KAFKA_BROKERS is ${from.named}, ${NO_ONE_ANSWERS}`);
    });
    return { brokers, origin: 'KAFKA_BROKERS', stop: async () => {} };
  }
  if (await from.hasContainerRuntime()) return from.startContainer();
  const missing = from.missing();
  if (missing) throw new Error(`KAFKA_BROKERS is not set and no container runtime answers. ${missing}`);
  return from.startLocal();
}

async function realSources(): Promise<BrokerSources> {
  const { missingForBroker, startLocalBroker } = await infra();
  return {
    named: process.env.KAFKA_BROKERS,
    hasContainerRuntime: async () => {
      const { getContainerRuntimeClient } = await import('testcontainers');
      return getContainerRuntimeClient().then(
        () => true,
        () => false,
      );
    },
    startContainer: async () => {
      const { KafkaContainer } = await import('@testcontainers/kafka');
      const container = await new KafkaContainer(IMAGE).withKraft().start();
      const brokers = [`${container.getHost()}:${container.getMappedPort(9093)}`];
      return { brokers, origin: 'testcontainers', stop: async () => void (await container.stop()) };
    },
    missing: missingForBroker,
    startLocal: async () => {
      const broker = await startLocalBroker();
      return { brokers: broker.brokers, origin: 'local process', stop: () => broker.stop() };
    },
  };
}

async function answers(address: string): Promise<void> {
  const [host, port] = address.split(':');
  const socket = connect(Number(port), host);
  await new Promise((resolve, reject) => {
    socket.setTimeout(5_000, () => reject(new Error('no answer')));
    socket.once('connect', resolve).once('error', reject);
  }).finally(() => socket.destroy());
}
