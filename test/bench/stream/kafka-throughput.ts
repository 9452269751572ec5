// Throughput of Kafka behind the port, and the cost of an idle member, corrected and as released: `npx node test/bench/stream/kafka-throughput.ts`,
// after `npm run build`. Starts a local broker unless KAFKA_BROKERS names one. Compare with spool-append.ts.
import { randomBytes, randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { openStream } from '@tallybay/stream';
import { Kafka, logLevel, Partitioners } from 'kafkajs';
import { startLocalBroker } from '../../../infra/kafka/local-broker.mjs';

const CASES = [
  { valueBytes: 200, messages: 50_000, perSend: 500, inFlight: 8 },
  { valueBytes: 10_000, messages: 10_000, perSend: 100, inFlight: 8 },
  { valueBytes: 192 * 1024, messages: 1_500, perSend: 16, inFlight: 8 },
];
const IDLE_MS = 10_000;
const TOPIC = 'bench.messages.v1';
const named = process.env.KAFKA_BROKERS?.split(',');
const broker = named ? undefined : await startLocalBroker();
const brokers = named ?? broker!.brokers;

async function openFresh() {
  const topicPrefix = `b${randomUUID().slice(0, 8)}.`;
  const stream = await openStream({ kind: 'kafka', brokers, topicPrefix, topics: [TOPIC], partitions: 4 });
  await stream.prepare();
  return stream;
}

function rate(what: string, count: number, bytes: number, startMs: number): string {
  const seconds = (performance.now() - startMs) / 1000;
  return `${what} ${(count / seconds).toFixed(0)} msg/s, ${(bytes / 1e6 / seconds).toFixed(0)} MB/s`;
}

async function runCase({ valueBytes, messages, perSend, inFlight }: (typeof CASES)[number]): Promise<void> {
  const stream = await openFresh();
  const producer = await stream.producer();
  const value = randomBytes(valueBytes);
  const batch = Array.from({ length: perSend }, (_, n) => ({ key: `vehicle-${n}`, value, headers: { meta: '{}' } }));
  const pending = new Set<Promise<void>>();
  let startMs = performance.now();
  for (let sent = 0; sent < messages; sent += perSend) {
    const sending = producer.send(TOPIC, batch).finally(() => pending.delete(sending));
    pending.add(sending);
    if (pending.size >= inFlight) await Promise.race(pending);
  }
  await Promise.all(pending);
  const produced = rate('produce', messages, messages * valueBytes, startMs);
  const consumer = await stream.consumer('bench', [TOPIC]);
  let received = 0;
  await new Promise<void>((resolve, reject) => {
    const onMessages = async (arrived: unknown[]) => {
      if (received === 0) startMs = performance.now();
      received += arrived.length;
      if (received >= messages) resolve();
    };
    consumer.run({ onMessages }).catch(reject);
  });
  console.log(
    `${`${valueBytes} B`.padEnd(10)} ${produced}; ${rate('consume', messages, messages * valueBytes, startMs)}`,
  );
  await stream.close();
}

/** CPU of this process while nothing happens, as a share of one core. */
async function idleShare(): Promise<string> {
  await sleep(2_000);
  const before = process.cpuUsage();
  await sleep(IDLE_MS);
  const { user, system } = process.cpuUsage(before);
  return `${(((user + system) / 1000 / IDLE_MS) * 100).toFixed(2)} % of a core`;
}

/** Before libs/stream has been used for the first time: it is then that it corrects kafkajs. */
async function idleAsReleased(): Promise<void> {
  const kafka = new Kafka({ brokers, logLevel: logLevel.NOTHING });
  const topic = `b${randomUUID().slice(0, 8)}`;
  const admin = kafka.admin();
  await admin.connect();
  await admin.createTopics({ topics: [{ topic, numPartitions: 4 }] });
  await admin.disconnect();
  const producer = kafka.producer({ createPartitioner: Partitioners.DefaultPartitioner });
  await producer.connect();
  await producer.send({ topic, messages: [{ value: 'x' }] });
  const consumer = kafka.consumer({ groupId: topic, maxWaitTimeInMs: 200 });
  await consumer.connect();
  await consumer.subscribe({ topics: [topic] });
  await consumer.run({ eachBatch: async () => {} });
  console.log(`idle producer and consumer, kafkajs as released: ${await idleShare()}`);
  await consumer.disconnect();
  await producer.disconnect();
}

async function idleCorrected(): Promise<void> {
  const stream = await openFresh();
  const producer = await stream.producer();
  await producer.send(TOPIC, [{ key: 'k', value: randomBytes(10), headers: {} }]);
  const consumer = await stream.consumer('idle', [TOPIC]);
  await consumer.run({ onMessages: async () => {} });
  console.log(`idle producer and consumer, through libs/stream: ${await idleShare()}`);
  await stream.close();
}

try {
  await idleAsReleased();
  for (const one of CASES) await runCase(one);
  await idleCorrected();
} finally {
  await broker?.stop();
}
