import { createRequire } from 'node:module';
import { streamParts } from '@tallybay/stream';
import { beforeAll, describe, expect, it, vi } from 'vitest';

const { correctKafkajs } = streamParts;

// The corrections and their reasons: the comment at the head of libs/stream/src/kafka/internals.ts.

interface Queue {
  pending: unknown[];
  inflight: Map<number, unknown>;
  throttledUntil: number;
  scheduleCheckPendingRequests(): void;
  sendSocketRequest(request: unknown): void;
}

const require = createRequire(import.meta.url);

function emptyQueue(): Queue {
  const RequestQueue = require('kafkajs/src/network/requestQueue/index.js') as new (options: object) => Queue;
  const logger = { debug: () => {}, warn: () => {} };
  return new RequestQueue({ maxInFlightRequests: 1, requestTimeout: 1000, clientId: 'c', broker: 'b', logger });
}

beforeAll(() => {
  correctKafkajs();
  correctKafkajs();
});

describe('the request queue of kafkajs, corrected', () => {
  it('sets no timer while nothing waits', () => {
    vi.useFakeTimers();
    try {
      emptyQueue().scheduleCheckPendingRequests();
      expect(vi.getTimerCount()).toBe(0);
    } finally {
      vi.useRealTimers();
    }
  });

  it('still sends what waits, at once or when a throttling ends', () => {
    vi.useFakeTimers();
    try {
      for (const throttleMs of [0, 500]) {
        const queue = emptyQueue();
        const sent = vi.spyOn(queue, 'sendSocketRequest').mockImplementation(() => {});
        queue.throttledUntil = Date.now() + throttleMs;
        queue.pending.push({ correlationId: 1 });
        queue.scheduleCheckPendingRequests();
        vi.advanceTimersByTime(throttleMs === 0 ? 9 : throttleMs - 1);
        expect(sent).not.toHaveBeenCalled();
        vi.advanceTimersByTime(2);
        expect(sent).toHaveBeenCalledTimes(1);
      }
    } finally {
      vi.useRealTimers();
    }
  });
});

describe('joining a group, corrected', () => {
  it('waits for the hand-over, with heartbeats, before it joins', async () => {
    const ConsumerGroup = require('kafkajs/src/consumer/consumerGroup.js') as {
      prototype: { joinAndSync(): Promise<void> };
    };
    const order: string[] = [];
    const heartbeat = vi.fn(async () => {});
    const offsetManager = {};
    const group = {
      assigners: [
        {
          hooks: {
            beforeJoin: async () => {
              order.push('hand-over begins');
              await vi.waitFor(() => expect(heartbeat).toHaveBeenCalled());
              order.push('hand-over ends');
            },
            afterJoin: (_assigned: unknown, offsets: unknown) => {
              expect(offsets).toBe(offsetManager);
              order.push('joined');
            },
          },
        },
      ],
      coordinator: { heartbeat },
      groupId: 'g',
      memberId: 'm',
      generationId: 4,
      sessionTimeout: 30,
      offsetManager,
      assigned: () => [],
      // What the original does first is to ask this for a retry loop.
      retrier: async () => {
        order.push('join');
      },
    };
    await ConsumerGroup.prototype.joinAndSync.call(group);
    expect(order).toEqual(['hand-over begins', 'hand-over ends', 'join', 'joined']);
    expect(heartbeat).toHaveBeenCalledWith({ groupId: 'g', memberId: 'm', groupGenerationId: 4 });
  });
});
