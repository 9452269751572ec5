import { FRAME, FRAME_HEADER_BYTES, type FrameKind } from '@tallybay/contracts';

export interface Frame {
  kind: FrameKind;
  body: Buffer;
}

/**
 * Frames as the analysts' process writes them; ends with the stream, a cut frame is dropped. Bytes of an answer are handed on as
 * they come, in pieces of their frame, since nobody needs a whole frame of them; every other frame is whole.
 */
export async function* framesOf(stream: AsyncIterable<Buffer>): AsyncGenerator<Frame> {
  let held: Buffer = Buffer.alloc(0);
  let kind: FrameKind | null = null;
  let wanted = FRAME_HEADER_BYTES;
  for await (const part of stream) {
    held = held.length === 0 ? part : Buffer.concat([held, part]);
    while (held.length > 0) {
      const isPiece = kind === FRAME.bytes;
      if (!isPiece && held.length < wanted) break;
      const body: Buffer = held.subarray(0, wanted);
      held = held.subarray(body.length);
      wanted -= body.length;
      if (kind !== null) yield { kind, body };
      if (wanted > 0) continue;
      if (kind === null) {
        kind = body.readUInt8(0) as FrameKind;
        wanted = body.readUInt32LE(1);
        if (wanted > 0) continue;
        yield { kind, body: Buffer.alloc(0) };
      }
      kind = null;
      wanted = FRAME_HEADER_BYTES;
    }
  }
}
