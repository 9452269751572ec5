import { FRAME_HEADER_BYTES, type FrameKind } from '@tallybay/contracts';

export interface Frame {
  kind: FrameKind;
  body: Buffer;
}

/** Frames as the analysts' process writes them; ends with the stream, a cut frame is dropped. */
export async function* framesOf(stream: AsyncIterable<Buffer>): AsyncGenerator<Frame> {
  let parts: Buffer[] = [];
  let held = 0;
  let wanted = FRAME_HEADER_BYTES;
  let kind: FrameKind | null = null;
  for await (const part of stream) {
    parts.push(part);
    held += part.length;
    while (held >= wanted) {
      const all = parts.length === 1 ? parts[0]! : Buffer.concat(parts, held);
      const body = all.subarray(0, wanted);
      parts = [all.subarray(wanted)];
      held -= wanted;
      if (kind === null) {
        kind = body.readUInt8(0) as FrameKind;
        wanted = body.readUInt32LE(1);
      } else {
        yield { kind, body };
        kind = null;
        wanted = FRAME_HEADER_BYTES;
      }
    }
  }
}
