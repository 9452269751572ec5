import { randomUUID } from 'node:crypto';
import { setTimeout as sleep } from 'node:timers/promises';
import { TallybayError } from '@tallybay/contracts';
import { openStream, type Stream, type StreamConfig } from '@tallybay/stream';
import { beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { type LocalBroker, missingForBroker, startLocalBroker } from '../../../infra/kafka/local-broker.mjs';
import { Collector, eventually, textMessage, textOf } from './message-log.js';

// These tests end the broker, so they need one of their own as a local process. Source of the promises: port.ts.

const TOPIC = 'faults.messages.v1';
type KafkaStreamConfig = Extract<StreamConfig, { kind: 'kafka' }>;

beforeAll(() => {
  const missing = missingForBroker();
  if (missing) throw new Error(missing);
});

async function startBroker(): Promise<LocalBroker> {
  const broker = await startLocalBroker();
  onTestFinished(() => broker.stop());
  return broker;
}

async function openOn(brokers: string[], more: Partial<KafkaStreamConfig> = {}): Promise<Stream> {
  const topicPrefix = `f${randomUUID().slice(0, 8)}.`;
  const stream = await openStream({ kind: 'kafka', brokers, topicPrefix, topics: [TOPIC], partitions: 4, ...more });
  onTestFinished(() => stream.close());
  return stream;
}

describe('without a broker', () => {
  it('says stream_unavailable within the deadline', async () => {
    const stream = await openOn(['127.0.0.1:1'], { sendTimeoutMs: 1_000 });
    const producer = await stream.producer();
    const startMs = Date.now();
    await expect(producer.send(TOPIC, [textMessage('k', 'v')])).rejects.toMatchObject({
      code: 'stream_unavailable',
      message: /127\.0\.0\.1:1/,
    });
    expect(Date.now() - startMs).toBeLessThan(2_000);
    await expect(stream.prepare()).rejects.toMatchObject({ code: 'stream_unavailable' });
  });
});

describe('a broker killed under load', () => {
  it('loses nothing acknowledged, and the consumer goes on by itself', { timeout: 300_000 }, async () => {
    const KILLS = 3;
    let broker = await startBroker();
    const { brokers, directory, port, controllerPort } = broker;
    const stream = await openOn(brokers, { sendTimeoutMs: 3_000, sessionTimeoutMs: 6_000 });
    await stream.prepare();
    const producer = await stream.producer();
    const collector = await new Collector(await stream.consumer('g', [TOPIC]), 'never').start();
    const acknowledged: string[] = [];
    let rejected = 0;
    let sending = true;
    const keys = ['a', 'b', 'c', 'd', 'e', 'f'];
    const senders = keys.map(async (key) => {
      for (let n = 0; sending; n++) {
        const startMs = Date.now();
        try {
          await producer.send(TOPIC, [textMessage(key, `${key}:${n}`)]);
          acknowledged.push(`${key}:${n}`);
        } catch (error) {
          expect(error).toBeInstanceOf(TallybayError);
          expect((error as TallybayError).code).toBe('stream_unavailable');
          rejected++;
        }
        expect(Date.now() - startMs).toBeLessThan(5_000);
        await sleep(2);
      }
    });
    for (let kill = 0; kill < KILLS; kill++) {
      await sleep(500 + Math.random() * 1_000);
      await broker.kill();
      broker = await startLocalBroker({ directory, port, controllerPort });
      const current = broker;
      onTestFinished(() => current.stop());
      const sofar = acknowledged.length;
      await eventually('sends are acknowledged again', () => acknowledged.length > sofar + 100);
    }
    sending = false;
    await Promise.all(senders);
    await eventually(
      'everything acknowledged has arrived',
      () => {
        const have = new Set(collector.texts());
        return acknowledged.every((text) => have.has(text));
      },
      60_000,
    );
    for (const key of keys) {
      // Nothing is committed here, so a new membership begins again from the start: first arrivals must be in order.
      const firsts = [...new Set(collector.received.filter((message) => message.key === key).map(textOf))];
      const numbers = firsts.map((text) => Number(text.split(':')[1]));
      expect(numbers).toEqual([...numbers].sort((x, y) => x - y));
    }
    console.log(`${KILLS} broker kills: acknowledged ${acknowledged.length}, lost 0, sends rejected ${rejected}`);
    expect(collector.stoppedWith).toBeUndefined();
  });
});

describe('members that come and go under load', () => {
  it('process each message once when they commit at hand-over', async () => {
    const broker = await startBroker();
    const stream = await openOn(broker.brokers);
    await stream.prepare();
    const producer = await stream.producer();
    const processed: string[] = [];
    const lostCommits: unknown[] = [];
    const startMember = async () => {
      const consumer = await stream.consumer('g', [TOPIC]);
      const open = new Map<number, { next: bigint; texts: string[] }>();
      const commitOpen = async (partition: number) => {
        const part = open.get(partition);
        if (!part) return;
        open.delete(partition);
        try {
          await consumer.commit({ topic: TOPIC, partition }, part.next);
          processed.push(...part.texts);
        } catch (error) {
          // Dropped: the next owner gets these messages again.
          lostCommits.push(error);
        }
      };
      await consumer.run({
        onMessages: async (messages, { partition }) => {
          const part = open.get(partition) ?? { next: 0n, texts: [] };
          open.set(partition, { next: messages.at(-1)!.offset + 1n, texts: [...part.texts, ...messages.map(textOf)] });
          if (part.texts.length > 20) await commitOpen(partition);
        },
        onRevoked: async (assignments) => {
          for (const { partition } of assignments) await commitOpen(partition);
        },
      });
      return consumer;
    };
    let sending = true;
    let sent = 0;
    const sender = (async () => {
      for (; sending; sent++) await producer.send(TOPIC, [textMessage(`k${sent % 12}`, `${sent}`)]);
    })();
    const members = [await startMember()];
    for (let change = 0; change < 6; change++) {
      await sleep(400);
      if (members.length < 3) members.push(await startMember());
      else await members.shift()!.close();
    }
    sending = false;
    await sender;
    await eventually('all are delivered', async () => {
      const [reader] = members;
      await Promise.all(
        members
          .slice(1)
          .splice(0)
          .map((member) => member.lag()),
      );
      return (await reader!.lag()).length === 4;
    });
    // Leaving commits what is open, and the last one takes the rest.
    while (members.length > 1) await members.shift()!.close();
    const last = members[0]!;
    await sleep(2_000);
    await last.close();
    const check = await stream.consumer('g', [TOPIC]);
    const behind = (await check.lag()).reduce((sum, { committed, end }) => sum + Number(end - committed), 0);
    const twice = processed.length - new Set(processed).size;
    console.log(
      `6 changes of members: sent ${sent}, processed ${processed.length}, twice ${twice}, lost commits ${lostCommits.length}`,
    );
    expect(behind).toBe(0);
    expect(new Set(processed).size).toBe(sent);
    expect(twice).toBe(0);
    for (const error of lostCommits) expect(error).toMatchObject({ code: 'partition_lost' });
  });

  it('cannot set back the offsets of a partition that has gone to another', async () => {
    const broker = await startBroker();
    const stream = await openOn(broker.brokers);
    await stream.prepare();
    const producer = await stream.producer();
    const keys = Array.from({ length: 40 }, (_, n) => `k${n}`);
    await producer.send(
      TOPIC,
      keys.map((key) => textMessage(key, 'x')),
    );
    const slow = await stream.consumer('g', [TOPIC]);
    const one = await new Collector(slow, 'never').start();
    await one.untilCount(40);
    const two = await new Collector(await stream.consumer('g', [TOPIC]), 'each call').start();
    await eventually('the second member has some', () => two.received.length > 0);
    const taken = new Set(two.received.map((message) => message.partition));
    const [partition] = [...taken];
    await eventually('committed by the second', async () => {
      const row = (await slow.lag()).find((one) => one.partition === partition)!;
      return row.committed === row.end;
    });
    await expect(slow.commit({ topic: TOPIC, partition: partition! }, 1n)).rejects.toMatchObject({
      code: 'partition_lost',
    });
    const row = (await slow.lag()).find((one) => one.partition === partition)!;
    expect(row.committed).toBe(row.end);
  });
});
