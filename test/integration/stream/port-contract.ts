import { randomBytes } from 'node:crypto';
import { TallybayError } from '@tallybay/contracts';
import { openStream, type Stream, type StreamConfig, type StreamMessage } from '@tallybay/stream';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { assertEachOnceInOrder, Collector, eventually, textMessage, textOf } from './message-log.js';

const TOPIC = 'contract.messages.v1';

/**
 * What libs/stream/src/port.ts promises, as tests for whatever carries it (source of each expectation: that file's
 * comments). `freshConfig` gives a configuration whose topics nobody has used before, with several partitions.
 */
export function describePort(name: string, freshConfig: (topics: string[]) => Promise<StreamConfig>): void {
  describe(`stream port on ${name}`, () => {
    let config: StreamConfig;
    const open: Stream[] = [];

    async function openOne(overrides: Partial<StreamConfig> = {}): Promise<Stream> {
      const stream = await openStream({ ...config, ...overrides } as StreamConfig);
      open.push(stream);
      await stream.prepare();
      return stream;
    }

    async function sendNumbered(stream: Stream, keys: string[], from: number, to: number): Promise<void> {
      const producer = await stream.producer();
      const numbers = Array.from({ length: to - from }, (_, n) => from + n);
      await producer.send(
        TOPIC,
        numbers.flatMap((n) => keys.map((key) => textMessage(key, `${key}:${n}`))),
      );
      await producer.close();
    }

    beforeEach(async () => {
      config = await freshConfig([TOPIC]);
    });

    afterEach(async () => {
      await Promise.all(open.splice(0).map((stream) => stream.close()));
    });

    const keys = ['truck-1', 'truck-2', 'van-3', 'bus-4', 'véhicule-5'];

    it('keeps the order of each key across sends, offsets rise by partition', async () => {
      const stream = await openOne();
      const producer = await stream.producer();
      const sends: Promise<void>[] = [];
      for (let n = 0; n < 200; n++) {
        sends.push(
          producer.send(
            TOPIC,
            keys.map((key) => textMessage(key, `${key}:${n}`)),
          ),
        );
      }
      await Promise.all(sends);
      const collector = await new Collector(await stream.consumer('order', [TOPIC]), 'each call').start();
      await collector.untilCount(1000);
      assertEachOnceInOrder(collector.received, keys, 200);
      const last = new Map<number, bigint>();
      for (const { partition, offset } of collector.received) {
        expect(offset > (last.get(partition) ?? -1n)).toBe(true);
        last.set(partition, offset);
      }
      expect(last.size).toBeGreaterThan(1);
    });

    it('brings bytes and headers back intact', async () => {
      const stream = await openOne();
      const big = randomBytes(1024 * 1024);
      const cases: StreamMessage[] = [
        { key: 'a', value: new Uint8Array(0), headers: {} },
        { key: 'b', value: big, headers: { meta: JSON.stringify({ fileName: 'Übersicht „Kühlmittel“ 冷却水.csv' }) } },
        {
          key: 'ключ',
          value: Uint8Array.of(0, 255, 10, 13, 0),
          headers: { empty: '', emoji: '🌡️', long: 'x'.repeat(40_000) },
        },
      ];
      const producer = await stream.producer();
      const sentAtMs = Date.now();
      await producer.send(TOPIC, cases);
      const collector = await new Collector(await stream.consumer('intact', [TOPIC]), 'each call').start();
      await collector.untilCount(cases.length);
      for (const sent of cases) {
        const got = collector.received.find((message) => message.key === sent.key)!;
        expect(Buffer.compare(got.value, sent.value)).toBe(0);
        expect(got.headers).toEqual(sent.headers);
        expect(got.topic).toBe(TOPIC);
        expect(Math.abs(got.timestampMs - sentAtMs)).toBeLessThan(60_000);
      }
    });

    it('keeps what was sent across closing and opening again', async () => {
      await sendNumbered(await openOne(), keys, 0, 50);
      await open.pop()!.close();
      const again = await openOne();
      await sendNumbered(again, keys, 50, 100);
      const collector = await new Collector(await again.consumer('reopen', [TOPIC]), 'never').start();
      await collector.untilCount(500);
      assertEachOnceInOrder(collector.received, keys, 100);
    });

    it('goes on from committed offsets, and delivers again what was not committed', async () => {
      const stream = await openOne();
      await sendNumbered(stream, ['k'], 0, 30);
      const first = await stream.consumer('resume', [TOPIC]);
      const collector = await new Collector(first, 'never').start();
      await collector.untilCount(30);
      const { partition, offset } = collector.received[9]!;
      await first.commit({ topic: TOPIC, partition }, offset + 1n);
      // Never backwards: a lower commit changes nothing.
      await first.commit({ topic: TOPIC, partition }, offset - 3n);
      await first.close();
      const second = await new Collector(await stream.consumer('resume', [TOPIC]), 'never').start();
      await second.untilCount(20);
      expect(second.texts()).toEqual(Array.from({ length: 20 }, (_, n) => `k:${n + 10}`));
      const other = await new Collector(await stream.consumer('another-group', [TOPIC]), 'never').start();
      await other.untilCount(30);
    });

    it('delivers one call at a time per partition, holds back while it is held, within the configured bounds', async () => {
      const stream = await openOne({ deliveryMessages: 7, deliveryBytes: 64 * 1024 });
      const producer = await stream.producer();
      const value = randomBytes(10_000);
      await producer.send(
        TOPIC,
        Array.from({ length: 60 }, (_, n) => ({ key: 'k', value, headers: { n: `${n}` } })),
      );
      const consumer = await stream.consumer('pressure', [TOPIC]);
      const calls: number[] = [];
      let release: () => void = () => {};
      await consumer.run({
        onMessages: (messages) => {
          calls.push(messages.length);
          return new Promise((resolve) => {
            release = resolve;
          });
        },
      });
      await eventually('a first call', () => calls.length === 1);
      await new Promise((resolve) => setTimeout(resolve, 500));
      expect(calls).toHaveLength(1);
      for (let call = 2; calls.reduce((sum, count) => sum + count) < 60; call++) {
        release();
        await eventually(`call ${call}`, () => calls.length >= call);
      }
      // 64 KiB hold six such records; the message bound of seven is the looser one here.
      expect(Math.max(...calls)).toBeLessThanOrEqual(6);
      release();
    });

    it('shares partitions between two members and hands over', async () => {
      const stream = await openOne();
      const first = await stream.consumer('shared', [TOPIC]);
      const one = await new Collector(first, 'each call').start();
      await sendNumbered(stream, keys, 0, 20);
      await one.untilCount(100);
      const second = await stream.consumer('shared', [TOPIC]);
      const two = await new Collector(second, 'each call').start();
      await eventually('the first member gives partitions up', () => one.revoked.length > 0);
      const all = () => [...one.received, ...two.received];
      await eventually('both members get messages', async () => {
        await sendNumbered(stream, ['probe'], 0, 1);
        const many = Array.from({ length: 40 }, (_, n) => `probe-${n}`);
        await sendNumbered(stream, many, 0, 1);
        return two.received.length > 0;
      });
      await second.close();
      const before = all().filter(({ key }) => keys.includes(key)).length;
      await sendNumbered(stream, keys, 20, 40);
      await eventually(
        'the first member has all',
        () => all().filter(({ key }) => keys.includes(key)).length >= before + 100,
      );
      const mine = all().filter(({ key }) => keys.includes(key));
      for (const key of keys) {
        const seen = new Set(mine.filter((message) => message.key === key).map(textOf));
        expect(seen.size).toBe(40);
      }
      expect(two.stoppedWith).toEqual({ error: undefined });
    });

    it('lets the owner commit while it gives partitions up, so that nothing is delivered twice', async () => {
      const stream = await openOne();
      const first = await stream.consumer('handover', [TOPIC]);
      const open = new Map<number, bigint>();
      const one: string[] = [];
      await first.run({
        onMessages: async (messages, { partition }) => {
          one.push(...messages.map(textOf));
          open.set(partition, messages.at(-1)!.offset + 1n);
        },
        onRevoked: async (assignments) => {
          for (const assignment of assignments) {
            const next = open.get(assignment.partition);
            if (next !== undefined) await first.commit(assignment, next);
          }
        },
      });
      await sendNumbered(stream, keys, 0, 20);
      await eventually('all delivered', () => one.length === 100);
      await first.close();
      const two = await new Collector(await stream.consumer('handover', [TOPIC]), 'each call').start();
      await sendNumbered(stream, keys, 20, 21);
      await two.untilCount(5);
      expect(two.texts().sort()).toEqual(keys.map((key) => `${key}:20`).sort());
    });

    it('tells the lag of a group, before and after commits', async () => {
      const stream = await openOne();
      await sendNumbered(stream, keys, 0, 10);
      const consumer = await stream.consumer('lag', [TOPIC]);
      const behind = async () =>
        (await consumer.lag()).reduce((sum, { committed, end }) => sum + Number(end - committed), 0);
      expect(await behind()).toBe(50);
      const collector = await new Collector(consumer, 'each call').start();
      await collector.untilCount(50);
      await eventually('no lag', async () => (await behind()) === 0);
    });

    it('shows the newest messages without a group, newest last', async () => {
      const stream = await openOne();
      await sendNumbered(stream, ['one'], 0, 30);
      await sendNumbered(stream, ['one'], 30, 31);
      const newest = await stream.browse(TOPIC, 5);
      expect(newest.map(textOf)).toEqual(['one:26', 'one:27', 'one:28', 'one:29', 'one:30']);
      expect(await stream.browse(TOPIC, 100)).toHaveLength(31);
    });

    it('takes many concurrent sends from several producers', async () => {
      const stream = await openOne();
      const producers = await Promise.all([stream.producer(), stream.producer(), stream.producer()]);
      await Promise.all(
        producers.map(async (producer, who) => {
          const sends = Array.from({ length: 150 }, (_, n) =>
            producer.send(TOPIC, [textMessage(`p${who}`, `p${who}:${n}`)]),
          );
          await Promise.all(sends);
        }),
      );
      const collector = await new Collector(await stream.consumer('many', [TOPIC]), 'each call').start();
      await collector.untilCount(450);
      assertEachOnceInOrder(collector.received, ['p0', 'p1', 'p2'], 150);
    });

    it('stops the consumer when a handler fails, and delivers the same messages to the next one', async () => {
      const stream = await openOne();
      await sendNumbered(stream, ['k'], 0, 3);
      const consumer = await stream.consumer('failing', [TOPIC]);
      let stopped: unknown;
      await consumer.run({
        onMessages: async () => {
          throw new Error('part could not be written');
        },
        onStopped: (error) => {
          stopped = error;
        },
      });
      await eventually('stopped', () => stopped !== undefined);
      expect(String(stopped)).toContain('part could not be written');
      await consumer.close();
      const next = await new Collector(await stream.consumer('failing', [TOPIC]), 'never').start();
      await next.untilCount(3);
    });

    it('refuses to send after closing, and to use a topic that was not configured', async () => {
      const stream = await openOne();
      const producer = await stream.producer();
      await expect(producer.send('nobody.knows.v1', [textMessage('k', 'v')])).rejects.toMatchObject({
        code: 'parameter_invalid',
      });
      await producer.close();
      await expect(producer.send(TOPIC, [textMessage('k', 'v')])).rejects.toBeInstanceOf(TallybayError);
      const consumer = await stream.consumer('closing', [TOPIC]);
      const collector = await new Collector(consumer, 'never').start();
      await consumer.close();
      await consumer.close();
      expect(collector.stoppedWith).toEqual({ error: undefined });
      await stream.close();
      await stream.close();
      await expect(stream.producer()).rejects.toMatchObject({ code: 'stream_unavailable' });
    });

    it('refuses a commit for a partition that the member does not have', async () => {
      const stream = await openOne();
      const consumer = await stream.consumer('not-mine', [TOPIC]);
      await expect(consumer.commit({ topic: TOPIC, partition: 0 }, 1n)).rejects.toMatchObject({
        code: 'partition_lost',
      });
    });
  });
}
