import type { FileHandle } from 'node:fs/promises';
import { TallybayError } from '@tallybay/contracts';
import type { TransferFiles, TransferRecord } from './transfer-files.js';
import { wrongLength } from './transfer-problems.js';

/** So much of a transfer may have to be sent again after a crash of the machine. */
export const SYNC_BYTES = 8 << 20;

/** One piece on its way to the disk. */
export class Receiving {
  /** When the sender was last heard of. */
  heardMs: number;
  private at: number;

  constructor(
    private readonly files: TransferFiles,
    private record: TransferRecord,
    private readonly nowMs: () => number,
  ) {
    this.at = record.safe;
    this.heardMs = nowMs();
  }

  /**
   * Writes what comes, and notes as safe what is synced: every SYNC_BYTES and at the end, whichever way it ends.
   * @returns the record as it is then
   * @throws TallybayError `body_cut` (what arrived is kept), `transfer_length` when more comes than was announced
   */
  async take(bytes: AsyncIterable<Uint8Array>): Promise<TransferRecord> {
    const part = await this.files.openPart(this.record);
    try {
      await this.write(part, bytes).finally(() => this.makeSafe(part));
    } finally {
      await part.close();
    }
    return this.record;
  }

  private async write(part: FileHandle, bytes: AsyncIterable<Uint8Array>): Promise<void> {
    for await (const some of this.untilCut(bytes)) {
      this.heardMs = this.nowMs();
      if (this.at + some.length > this.record.length)
        throw wrongLength(`More than the announced ${this.record.length} bytes come`, this.at);
      await this.files.guarded(() => writeFully(part, some, this.at));
      this.at += some.length;
      if (this.at - this.record.safe >= SYNC_BYTES) await this.makeSafe(part);
    }
  }

  private async *untilCut(bytes: AsyncIterable<Uint8Array>): AsyncGenerator<Uint8Array> {
    try {
      yield* bytes;
    } catch (error) {
      throw new TallybayError('body_cut', `The connection ended at byte ${this.at} of ${this.record.length}`, {
        advice: 'Ask for the offset and go on from there.',
        cause: error,
      });
    }
  }

  private async makeSafe(part: FileHandle): Promise<void> {
    await this.files.guarded(() => part.sync());
    const next = { ...this.record, safe: this.at, touchedMs: this.nowMs() };
    await this.files.save(next);
    this.record = next;
  }
}

async function writeFully(part: FileHandle, bytes: Uint8Array, position: number): Promise<void> {
  let done = 0;
  while (done < bytes.length) {
    const { bytesWritten } = await part.write(bytes, done, bytes.length - done, position + done);
    done += bytesWritten;
  }
}
