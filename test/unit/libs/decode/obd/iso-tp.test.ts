// ISO 15765-2 segmentation (from memory); a message cut into frames must come back whole.
import { createIsoTp } from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

function framesOf(message: Uint8Array): Uint8Array[] {
  if (message.length <= 7) return [Uint8Array.from([message.length, ...message])];
  const frames = [Uint8Array.from([0x10 | (message.length >> 8), message.length & 255, ...message.subarray(0, 6)])];
  for (let at = 6, ordinal = 1; at < message.length; at += 7, ordinal++) {
    frames.push(Uint8Array.from([0x20 | (ordinal & 15), ...message.subarray(at, at + 7)]));
  }
  return frames;
}

describe('createIsoTp', () => {
  it('joins messages of any length, two senders woven into each other (property)', () => {
    const message = fc.uint8Array({ minLength: 1, maxLength: 400 });
    fc.assert(
      fc.property(message, message, (first, second) => {
        const isoTp = createIsoTp();
        const [one, two] = [framesOf(first), framesOf(second)];
        const got: Record<string, Uint8Array> = {};
        for (let index = 0; index < Math.max(one.length, two.length); index++) {
          for (const [source, frame] of [
            ['7E8', one[index]],
            ['7E9', two[index]],
          ] as const) {
            const result = frame ? isoTp.push(source, frame) : null;
            expect(result?.problem ?? null).toBeNull();
            if (result?.message) got[source] = result.message;
          }
        }
        expect(got).toEqual({ '7E8': first, '7E9': second });
        expect(isoTp.finish()).toEqual([]);
      }),
      { numRuns: 50 },
    );
  });

  it('gives up a message when a new one starts, and says so', () => {
    const isoTp = createIsoTp();
    isoTp.push('7E8', Uint8Array.of(0x10, 20, 0x49, 2, 1, 0x31, 0x44, 0x34));
    const { message, problem } = isoTp.push('7E8', Uint8Array.of(3, 0x41, 5, 0x7b));
    expect(problem?.code).toBe('frame_incomplete');
    expect(message).toEqual(Uint8Array.of(0x41, 5, 0x7b));
  });

  it('takes flow control as carrying no data', () => {
    expect(createIsoTp().push('7E0', Uint8Array.of(0x30, 0, 0))).toEqual({ message: null, problem: null });
  });
});
