import { once } from 'node:events';
import type { Writable } from 'node:stream';
import { FRAME, FRAME_HEADER_BYTES, type FrameKind } from '@tallybay/contracts';

/** Writes frames and waits while their reader is behind, so that an answer never piles up here. */
export class FramePipe {
  constructor(private readonly out: Writable) {}

  json(kind: FrameKind, value: object): Promise<void> {
    return this.frame(kind, [Buffer.from(JSON.stringify(value))]);
  }

  bytes(parts: readonly Uint8Array[]): Promise<void> {
    return parts.length === 0 ? Promise.resolve() : this.frame(FRAME.bytes, parts);
  }

  private async frame(kind: FrameKind, parts: readonly Uint8Array[]): Promise<void> {
    const header = Buffer.alloc(FRAME_HEADER_BYTES);
    header.writeUInt8(kind, 0);
    header.writeUInt32LE(
      parts.reduce((sum, part) => sum + part.length, 0),
      1,
    );
    this.out.cork();
    this.out.write(header);
    let hasRoom = true;
    for (const part of parts) hasRoom = this.out.write(part);
    this.out.uncork();
    if (!hasRoom) await once(this.out, 'drain');
  }
}
