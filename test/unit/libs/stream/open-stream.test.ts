import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { openStream, type Stream, type StreamConfig } from '@tallybay/stream';
import { describe, expect, it, onTestFinished, vi } from 'vitest';

// Source: libs/stream/src/port.ts and config.ts.

const TOPIC = 'unit.messages.v1';

async function spool(more: Partial<Extract<StreamConfig, { kind: 'spool' }>> = {}) {
  const directory = await mkdtemp(join(tmpdir(), 'tallybay-open-'));
  onTestFinished(() => rm(directory, { recursive: true }));
  const stream = await openStream({ kind: 'spool', directory, topics: [TOPIC], partitions: 1, ...more });
  onTestFinished(() => stream.close());
  await stream.prepare();
  return { directory, stream };
}

async function sendAll(stream: Stream, count: number, bytes = 10): Promise<void> {
  const producer = await stream.producer();
  for (let n = 0; n < count; n++)
    await producer.send(TOPIC, [{ key: 'k', value: Buffer.alloc(bytes, n), headers: {} }]);
}

async function segmentNames(directory: string): Promise<string[]> {
  return (await readdir(join(directory, 'topics', TOPIC, '000'))).filter((name) => name.endsWith('.seg'));
}

describe('openStream', () => {
  it('names what is wrong in a configuration', async () => {
    const wrong = { kind: 'spool', directory: '/tmp/x', partitions: 0 } as const;
    await expect(openStream(wrong)).rejects.toMatchObject({ code: 'parameter_invalid', message: /partitions/ });
  });

  it('says stream_unavailable for a directory that cannot be one', async () => {
    const { directory } = await spool();
    const file = join(directory, 'a-file');
    await writeFile(file, '');
    const inFile = openStream({ kind: 'spool', directory: join(file, 'spool') });
    await expect(inFile).rejects.toMatchObject({ code: 'stream_unavailable', options: { place: { file: /a-file/ } } });
  });

  it('refuses a message over the limit and says which', async () => {
    const { stream } = await spool();
    const producer = await stream.producer();
    const value = Buffer.alloc(8 * 1024 * 1024 + 1);
    const sent = producer.send(TOPIC, [{ key: 'truck-9', value, headers: {} }]);
    await expect(sent).rejects.toMatchObject({ code: 'body_too_large', message: /truck-9.*8388608/ });
  });
});

describe('retention', () => {
  it('deletes what every group has committed past, and nothing that one has not', async () => {
    const { directory, stream } = await spool({ segmentBytes: 4096 });
    await sendAll(stream, 20, 2000);
    const before = (await segmentNames(directory)).length;
    expect(before).toBeGreaterThan(5);
    const fast = await stream.consumer('fast', [TOPIC]);
    const slow = await stream.consumer('slow', [TOPIC]);
    const commitTo = async (consumer: typeof fast, count: number) => {
      let seen = 0;
      await consumer.run({ onMessages: async (messages) => void (seen += messages.length) });
      await vi.waitFor(() => expect(seen).toBe(20));
      await consumer.commit({ topic: TOPIC, partition: 0 }, BigInt(count));
    };
    await commitTo(slow, 5);
    await commitTo(fast, 20);
    await stream.prepare();
    const kept = await segmentNames(directory);
    expect(kept.length).toBeLessThan(before);
    const oldest = Number.parseInt(kept.sort()[0]!, 10);
    expect(oldest).toBeLessThanOrEqual(5);
    expect(oldest).toBeGreaterThan(0);
    await slow.commit({ topic: TOPIC, partition: 0 }, 20n);
    await stream.prepare();
    expect(await segmentNames(directory)).toHaveLength(1);
  });

  it('keeps a topic that no group reads, until its age', async () => {
    const { directory, stream } = await spool({ segmentBytes: 4096, keepUnreadMs: 150 });
    await sendAll(stream, 10, 2000);
    await stream.prepare();
    const before = (await segmentNames(directory)).length;
    expect(before).toBeGreaterThan(2);
    await new Promise((resolve) => setTimeout(resolve, 200));
    await stream.prepare();
    expect(await segmentNames(directory)).toHaveLength(1);
    expect(await stream.browse(TOPIC, 100)).not.toHaveLength(0);
  });
});

describe('committed offsets', () => {
  it('that a disk has damaged are refused with the way out, not read as something else', async () => {
    const { directory, stream } = await spool();
    await sendAll(stream, 3);
    const consumer = await stream.consumer('g', [TOPIC]);
    await consumer.run({ onMessages: async () => {} });
    await consumer.commit({ topic: TOPIC, partition: 0 }, 2n);
    await consumer.close();
    const path = join(directory, 'groups', 'g.offsets.json');
    await writeFile(path, (await readFile(path, 'utf8')).replace('"2"', '"3"'));
    const again = await stream.consumer('g', [TOPIC]);
    await expect(again.lag()).rejects.toMatchObject({ code: 'stream_corrupt', options: { advice: /Remove the file/ } });
  });
});
