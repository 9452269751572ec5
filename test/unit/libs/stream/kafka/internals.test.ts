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

  it('that fails is not passed over: it ends the run, and kafkajs starts anew where that may help', async () => {
    const ConsumerGroup = require('kafkajs/src/consumer/consumerGroup.js') as {
      prototype: { joinAndSync(): Promise<void> };
    };
    const retrier = require('kafkajs/src/retry/index.js') as (
      options: object,
    ) => (work: () => Promise<void>) => Promise<void>;
    // As the broker says it while a group's coordinator is being moved.
    const moved = Object.assign(new Error('not the coordinator'), {
      type: 'NOT_COORDINATOR_FOR_GROUP',
      retriable: true,
    });
    const afterJoin = vi.fn();
    const group = {
      assigners: [{ hooks: { beforeJoin: async () => {}, afterJoin } }],
      coordinator: null,
      groupId: 'g',
      // Forgotten by kafkajs when the broker did not know it any more.
      memberId: null,
      generationId: 1,
      sessionTimeout: 30,
      retrier: async () => {
        throw moved;
      },
    };
    let tries = 0;
    // The loop of kafkajs' Runner, in which a failed join used to be followed by fetching without a membership.
    const run = retrier({ retries: 5, initialRetryTime: 1 })(async () => {
      tries++;
      await ConsumerGroup.prototype.joinAndSync.call(group);
    });
    const thrown = await run.then(
      () => undefined,
      (error: Error) => error,
    );
    expect(tries).toBe(1);
    expect(afterJoin).not.toHaveBeenCalled();
    // What kafkajs looks at to decide on a new start.
    let cause: unknown = thrown;
    while (cause instanceof Error && cause.cause) cause = cause.cause;
    expect(cause).toBe(moved);
  });
});
