import { FRAME, FRAME_HEADER_BYTES, type FrameKind } from '@tallybay/contracts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { framesOf } from '../../../../../apps/api/src/query/engine/frames.js';

// Layout: the comment at FRAME in libs/contracts/src/query-process.ts (ours; no published source).
function encode(frames: readonly [FrameKind, string][]): Buffer {
  return Buffer.concat(
    frames.map(([kind, text]) => {
      const body = Buffer.from(text);
      const header = Buffer.alloc(FRAME_HEADER_BYTES);
      header.writeUInt8(kind, 0);
      header.writeUInt32LE(body.length, 1);
      return Buffer.concat([header, body]);
    }),
  );
}

async function* cut(bytes: Buffer, size: number): AsyncGenerator<Buffer> {
  for (let at = 0; at < bytes.length; at += size) yield bytes.subarray(at, at + size);
}

describe('frames of the analysts’ process', () => {
  it('come out the same however the pipe cuts them; bytes may come in pieces, others are whole', async () => {
    const frame = fc.tuple(fc.constantFrom(...Object.values(FRAME)), fc.string({ maxLength: 40 }));
    await fc.assert(
      fc.asyncProperty(fc.array(frame, { maxLength: 8 }), fc.integer({ min: 1, max: 64 }), async (frames, size) => {
        const seen: [FrameKind, string][] = [];
        for await (const { kind, body } of framesOf(cut(encode(frames), size))) {
          seen.push([kind, body.toString('latin1')]);
        }
        const flat = (list: readonly [FrameKind, string][]) => list.map(([kind, text]) => `${kind}:${text}`).join('|');
        const sent = frames.map(([kind, text]): [FrameKind, string] => [kind, Buffer.from(text).toString('latin1')]);
        expect(flat(joined(seen))).toBe(flat(joined(sent)));
        const whole = ([kind]: readonly [FrameKind, string]) => kind !== FRAME.bytes;
        expect(seen.filter(whole)).toEqual(sent.filter(whole));
      }),
    );
  });

  it('are dropped when they are cut off', async () => {
    const kinds: FrameKind[] = [];
    const bytes = encode([
      [FRAME.columns, '{}'],
      [FRAME.end, '{"rows":1}'],
    ]);
    for await (const { kind } of framesOf(cut(bytes.subarray(0, -1), 7))) kinds.push(kind);
    expect(kinds).toEqual([FRAME.columns]);
  });
});

/** Neighbouring bytes frames as one: where one ends and the next begins means nothing. */
function joined(frames: readonly [FrameKind, string][]): [FrameKind, string][] {
  const out: [FrameKind, string][] = [];
  for (const [kind, text] of frames) {
    const last = out.at(-1);
    if (kind === FRAME.bytes && last?.[0] === FRAME.bytes) last[1] += text;
    else out.push([kind, text]);
  }
  return out;
}
