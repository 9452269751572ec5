// Throughput of the spool on one disk: `npx node test/bench/stream/spool-append.ts [DIRECTORY]`, after `npm run build`.
// Sends batches of incompressible 192 KiB values (what a zstd chunk of 768 KiB is at worst), then reads them back; next to
// it, the same bytes through one file with a plain write and fdatasync, which is what the disk itself gives.
import { randomBytes } from 'node:crypto';
import { mkdtemp, open, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openStream } from '@tallybay/stream';

const VALUE_BYTES = 192 * 1024;
const BATCH = 64;
const BATCHES = 64;
const TOPIC = 'bench.messages.v1';
const totalBytes = VALUE_BYTES * BATCH * BATCHES;
const directory = await mkdtemp(join(process.argv[2] ?? tmpdir(), 'tallybay-bench-'));
const values = Array.from({ length: BATCH }, () => randomBytes(VALUE_BYTES));

async function report(name: string, work: () => Promise<number>): Promise<void> {
  const cpu = process.cpuUsage();
  const startMs = performance.now();
  const bytes = await work();
  const seconds = (performance.now() - startMs) / 1000;
  const { user, system } = process.cpuUsage(cpu);
  const cpuSeconds = (user + system) / 1e6;
  console.log(
    `${name.padEnd(34)} ${(bytes / 1e6 / seconds).toFixed(0)} MB/s, ${(bytes / 1e9 / cpuSeconds).toFixed(1)} GB per CPU second`,
  );
}

async function plainFile(): Promise<number> {
  const handle = await open(join(directory, 'plain'), 'w');
  for (let batch = 0; batch < BATCHES; batch++) {
    await handle.writev(values);
    await handle.datasync();
  }
  await handle.close();
  return totalBytes;
}

const stream = await openStream({ kind: 'spool', directory: join(directory, 'spool'), topics: [TOPIC] });
await stream.prepare();
const producer = await stream.producer();

async function append(inFlight: number): Promise<number> {
  const pending = new Set<Promise<void>>();
  for (let batch = 0; batch < BATCHES; batch++) {
    const messages = values.map((value, n) => ({ key: `vehicle-${n}`, value, headers: { meta: `${batch}` } }));
    const sent = producer.send(TOPIC, messages).finally(() => pending.delete(sent));
    pending.add(sent);
    if (pending.size >= inFlight) await Promise.race(pending);
  }
  await Promise.all(pending);
  return totalBytes;
}

async function consume(): Promise<number> {
  const consumer = await stream.consumer('bench', [TOPIC]);
  let bytes = 0;
  const expected = totalBytes * 3;
  await new Promise<void>((resolve, reject) => {
    const onMessages = async (messages: { value: Uint8Array }[]) => {
      for (const { value } of messages) bytes += value.byteLength;
      if (bytes >= expected) resolve();
    };
    consumer.run({ onMessages }).catch(reject);
  });
  await consumer.close();
  return bytes;
}

async function smallSends(): Promise<number> {
  const COUNT = 100_000;
  const value = randomBytes(200);
  const startMs = performance.now();
  await Promise.all(
    Array.from({ length: COUNT }, (_, n) => producer.send(TOPIC, [{ key: `vehicle-${n % 64}`, value, headers: {} }])),
  );
  console.log(
    `  100,000 concurrent sends of 200 B: ${((COUNT / (performance.now() - startMs)) * 1000).toFixed(0)} sends/s`,
  );
  return COUNT * value.byteLength;
}

try {
  await report('plain file, write + fdatasync', plainFile);
  await report('spool, one send at a time', () => append(1));
  await report('spool, 4 sends in flight', () => append(4));
  await report('spool, 8 sends in flight', () => append(8));
  await report('spool, reading back', consume);
  await report('spool, small sends', smallSends);
} finally {
  await stream.close();
  await rm(directory, { recursive: true });
}
