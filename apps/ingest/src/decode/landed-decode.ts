import type { LogChunkMeta } from '@tallybay/contracts';
import type { LandingStore } from '../receive/landing.js';
import type { DecodePool } from './decode-pool.js';
import type { ThreadReply } from './decode-thread.js';
import type { LimitBook } from './limit-book.js';
import { pause } from './patience.js';

/** What the chunks on the stream said about their upload, and where its bytes are. */
export interface LandedUpload {
  meta: LogChunkMeta;
  plan: string;
  landingFile: string;
}

/**
 * Decodes an upload once more from the landing store, after its chunks from the stream were lost with a thread or could
 * not be written: the chunks are the landing store's own frames.
 */
export class LandedDecode {
  constructor(
    private readonly landing: LandingStore,
    private readonly pool: DecodePool,
    private readonly limits: LimitBook,
  ) {}

  /** @returns the thread's last answer. @throws TallybayError `landing_corrupt`; ThreadEnded; Abandoned */
  async run(partition: number, upload: LandedUpload, signal: AbortSignal): Promise<ThreadReply> {
    const { meta, plan, landingFile } = upload;
    await this.pool.drop(partition, meta.uploadId, meta.attempt);
    const landed = await this.landing.index(landingFile);
    const limits = await this.limits.of(meta.vehicleId);
    let ordinal = 0;
    for await (const { frame, bytes } of this.landing.frames(landingFile, landed)) {
      const chunk = {
        ...meta,
        ordinal: ordinal++,
        chunks: landed.frames.length,
        byteOffset: frame.byteOffset,
        byteLength: frame.byteLength,
      };
      const reply = await this.pool.decode(partition, { meta: chunk, plan, value: bytes, limits });
      if (reply.kind !== 'taken') return reply;
      if (signal.aborted) await pause(0, signal);
    }
    return { id: -1, kind: 'unknown' };
  }
}
