import type { ReceivedMessage } from '@tallybay/stream';
import { streamParts } from '@tallybay/stream';
import fc from 'fast-check';
import { describe, expect, it, vi } from 'vitest';

const { Lane } = streamParts;

// Source of the promises: libs/stream/src/port.ts, ConsumerHandlers.onMessages; the bounds: lane.ts.

const assignment = { topic: 't', partition: 0 };
const offsets = { committedOffsets: () => ({}), commitOffsets: async () => {} };

function messagesOf(sizes: number[], from = 0): ReceivedMessage[] {
  return sizes.map((bytes, n) => ({
    ...assignment,
    key: 'k',
    value: Buffer.alloc(bytes),
    headers: {},
    offset: BigInt(from + n),
    timestampMs: 0,
  }));
}

/** A lane whose handler is answered by hand. */
function laneOf(limits: { deliveryBytes: number; deliveryMessages: number }) {
  const calls: ReceivedMessage[][] = [];
  const answers: { resolve(): void; reject(error: unknown): void }[] = [];
  const pause = vi.fn();
  const resume = vi.fn();
  const onFailed = vi.fn();
  const onMessages = (messages: ReceivedMessage[]) => {
    calls.push(messages);
    return new Promise<void>((resolve, reject) => answers.push({ resolve, reject }));
  };
  const lane = new Lane(assignment, offsets, { handlers: { onMessages }, ...limits, pause, resume, onFailed });
  return { lane, calls, answers, pause, resume, onFailed };
}

const settled = () => new Promise((resolve) => setImmediate(resolve));

describe('a lane', () => {
  it('delivers all, in order, one call at a time, within the bounds, whatever the sizes', async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(fc.integer({ min: 0, max: 300 }), { maxLength: 60 }), async (sizes) => {
        const { lane, calls, answers } = laneOf({ deliveryBytes: 256, deliveryMessages: 5 });
        lane.push(messagesOf(sizes));
        for (let call = 1; ; call++) {
          await settled();
          if (calls.length < call) break;
          expect(calls).toHaveLength(call);
          answers.at(-1)!.resolve();
        }
        expect(calls.flat().map(({ offset }) => Number(offset))).toEqual(sizes.map((_, n) => n));
        for (const messages of calls) {
          const bytes = messages.reduce((sum, { value }) => sum + value.byteLength, 0);
          expect(messages.length === 1 || bytes <= 256).toBe(true);
          expect(messages.length).toBeLessThanOrEqual(5);
        }
      }),
      { numRuns: 50 },
    );
  });

  it('pauses its partition while more than one delivery waits, and goes on when that has gone', async () => {
    const { lane, answers, pause, resume } = laneOf({ deliveryBytes: 100, deliveryMessages: 10 });
    lane.push(messagesOf([60]));
    await settled();
    lane.push(messagesOf([60], 1));
    expect(pause).not.toHaveBeenCalled();
    lane.push(messagesOf([60, 60], 2));
    expect(pause).toHaveBeenCalledTimes(1);
    answers[0]!.resolve();
    await settled();
    expect(resume).not.toHaveBeenCalled();
    answers[1]!.resolve();
    await settled();
    expect(resume).toHaveBeenCalledTimes(1);
  });

  it('makes no call after it has been stopped, and waits for the one under way', async () => {
    const { lane, calls, answers } = laneOf({ deliveryBytes: 10, deliveryMessages: 1 });
    lane.push(messagesOf([5, 5, 5]));
    await settled();
    let stopped = false;
    const stopping = lane.stop().then(() => {
      stopped = true;
    });
    await settled();
    expect(stopped).toBe(false);
    answers[0]!.resolve();
    await stopping;
    expect(calls).toHaveLength(1);
  });

  it('passes a failure on, unless it was stopped', async () => {
    const failing = laneOf({ deliveryBytes: 10, deliveryMessages: 1 });
    failing.lane.push(messagesOf([1]));
    await settled();
    failing.answers[0]!.reject(new Error('lake full'));
    await settled();
    expect(failing.onFailed).toHaveBeenCalledWith(new Error('lake full'));
    const stopped = laneOf({ deliveryBytes: 10, deliveryMessages: 1 });
    stopped.lane.push(messagesOf([1]));
    await settled();
    const stopping = stopped.lane.stop();
    stopped.answers[0]!.reject(new Error('late'));
    await stopping;
    expect(stopped.onFailed).not.toHaveBeenCalled();
  });
});
