import { streamParts } from '@tallybay/stream';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const { bodyIsIntact, encodeBody, findFrame, frameBytes, messageAt, sealFrame, tryFrameHeader } = streamParts;

// Source of the layout: the table at the head of libs/stream/src/spool/frame.ts.

const SALT = 0x5eed;

function recordOf(message: { key: string; value: Uint8Array; headers: Record<string, string> }, offset = 7n): Buffer {
  const body = encodeBody(message);
  sealFrame(body, { offset, timestampMs: 1_790_000_000_000, durableOffset: 3n, salt: SALT });
  return Buffer.concat(body.value ? [body.head, body.value] : [body.head]);
}

const anyMessage = fc.record({
  key: fc.string({ unit: 'grapheme' }),
  value: fc.oneof(fc.uint8Array({ maxLength: 300 }), fc.uint8Array({ minLength: 4000, maxLength: 4200 })),
  headers: fc.dictionary(fc.string({ unit: 'grapheme' }), fc.string({ unit: 'grapheme' })),
});

describe('a record', () => {
  it('comes back as it was written', () => {
    fc.assert(
      fc.property(anyMessage, (message) => {
        const bytes = recordOf(message);
        const header = tryFrameHeader(bytes, 0, SALT)!;
        expect(header).toMatchObject({ offset: 7n, timestampMs: 1_790_000_000_000, durableOffset: 3n });
        expect(frameBytes(header)).toBe(bytes.length);
        expect(bodyIsIntact(bytes, 0, header)).toBe(true);
        const back = messageAt(bytes, 0, header);
        expect(back.key).toBe(message.key);
        expect({ ...back.headers }).toEqual({ ...message.headers });
        expect(Buffer.compare(back.value, message.value)).toBe(0);
      }),
    );
  });

  it('is refused when any one bit of it is wrong', () => {
    const bytes = recordOf({ key: 'truck', value: Buffer.from('value'), headers: { meta: '{}' } });
    for (let at = 0; at < bytes.length; at++) {
      for (let bit = 0; bit < 8; bit++) {
        const damaged = Buffer.from(bytes);
        damaged[at]! ^= 1 << bit;
        const header = tryFrameHeader(damaged, 0, SALT);
        expect(header !== undefined && bodyIsIntact(damaged, 0, header)).toBe(false);
      }
    }
  });

  it('of another segment, inside a value, is not taken for one of this', () => {
    const foreign = recordOf({ key: 'k', value: Buffer.from('inner'), headers: {} });
    expect(findFrame(foreign, 0, SALT)).toBe(0);
    expect(findFrame(foreign, 0, SALT + 1)).toBe(-1);
  });
});
