import { createHash, randomUUID } from 'node:crypto';
import { type FileHandle, mkdir, open, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { promisify } from 'node:util';
import { constants, zstdCompress, zstdDecompressSync } from 'node:zlib';
import { TallybayError } from '@tallybay/contracts';
import { newOwner, removeLeftovers } from '../process-owner.js';

const compress = promisify(zstdCompress);
/** Level 1 keeps up with a fast sender on one core; each frame carries a checksum of its content (RFC 8878). */
const ZSTD = {
  params: { [constants.ZSTD_c_compressionLevel]: 1, [constants.ZSTD_c_checksumFlag]: 1 },
  // Output of one chunk in one piece: with the default of 16 KiB every piece would be a trip through the thread pool.
  chunkSize: 160 * 1024,
};
/** Frames being compressed or written at once: bounds memory when the sender is faster than the disk. */
const MAX_IN_FLIGHT = 6;

/** One zstd frame of a landed log: where it is in the file and which bytes of the log it holds. */
export interface LandedFrame {
  at: number;
  size: number;
  byteOffset: number;
  byteLength: number;
}

export interface Landed {
  sha256: string;
  bytes: number;
  frames: LandedFrame[];
}

/**
 * The landing store keeps every log as it came, compressed: `<aa>/<upload>.zst` is a run of zstd frames, one a chunk, so
 * any zstd tool unpacks the file to the original bytes, and the frames travel on the stream without being packed again.
 * `<upload>.frames.json` says where the frames are.
 */
export class LandingStore {
  constructor(
    private readonly directory: string,
    private readonly owner: string = newOwner(),
  ) {}

  /** Creates the folders and removes what the uploads of dead processes left. @throws TallybayError `landing_unwritable` */
  async prepare(): Promise<void> {
    try {
      await mkdir(this.incoming, { recursive: true });
      await removeLeftovers(this.incoming, Date.now());
    } catch (error) {
      throw this.unwritable(error);
    }
  }

  /** Opens a place for one upload's bytes. @throws TallybayError `landing_unwritable` */
  async begin(): Promise<LandingDraft> {
    const file = join(this.incoming, `${this.owner}-${randomUUID()}.part`);
    try {
      return new LandingDraft(await open(file, 'wx'), file);
    } catch (error) {
      throw this.unwritable(error);
    }
  }

  /**
   * Syncs the draft and gives it its final name. @returns the name, relative to the store
   * @throws TallybayError `landing_unwritable`
   */
  async keep(draft: LandingDraft, uploadId: string): Promise<{ name: string; landed: Landed }> {
    try {
      const landed = await draft.seal();
      const name = join(uploadId.slice(0, 2), `${uploadId}.zst`);
      const target = join(this.directory, name);
      await mkdir(dirname(target), { recursive: true });
      await this.writeDurably(this.framesFile(target), JSON.stringify(landed));
      await rename(draft.file, target);
      await syncDirectory(dirname(target));
      return { name, landed };
    } catch (error) {
      throw this.unwritable(error);
    }
  }

  /** @throws TallybayError `landing_corrupt` when the index is missing or unreadable */
  async index(name: string): Promise<Landed> {
    const file = this.framesFile(join(this.directory, name));
    try {
      const handle = await open(file, 'r');
      try {
        return JSON.parse(await handle.readFile('utf8')) as Landed;
      } finally {
        await handle.close();
      }
    } catch (error) {
      throw corrupt(name, `its index ${file} cannot be read: ${(error as Error).message}`, error);
    }
  }

  /** The frames' bytes in order, read in runs of up to `runBytes`. @throws TallybayError `landing_corrupt` */
  async *frames(
    name: string,
    landed: Landed,
    runBytes = 4 << 20,
  ): AsyncGenerator<{ frame: LandedFrame; bytes: Buffer }> {
    const handle = await this.openLanded(name);
    try {
      let first = 0;
      while (first < landed.frames.length) {
        let last = first;
        const start = landed.frames[first]!.at;
        while (
          last + 1 < landed.frames.length &&
          landed.frames[last + 1]!.at + landed.frames[last + 1]!.size - start <= runBytes
        )
          last++;
        const end = landed.frames[last]!.at + landed.frames[last]!.size;
        const run = Buffer.allocUnsafe(end - start);
        const { bytesRead } = await handle.read(run, 0, run.length, start);
        if (bytesRead < run.length) throw corrupt(name, `it ends at byte ${start + bytesRead}, expected ${end}`);
        for (let i = first; i <= last; i++) {
          const frame = landed.frames[i]!;
          yield { frame, bytes: run.subarray(frame.at - start, frame.at - start + frame.size) };
        }
        first = last + 1;
      }
    } finally {
      await handle.close();
    }
  }

  /** The log's original bytes, chunk by chunk, checked. @throws TallybayError `landing_corrupt` */
  async *original(name: string): AsyncGenerator<Buffer> {
    const landed = await this.index(name);
    for await (const { frame, bytes } of this.frames(name, landed)) yield unpackFrame(name, frame, bytes);
  }

  private async openLanded(name: string): Promise<FileHandle> {
    try {
      return await open(join(this.directory, name), 'r');
    } catch (error) {
      throw corrupt(name, (error as Error).message, error);
    }
  }

  private async writeDurably(file: string, text: string): Promise<void> {
    const fresh = `${file}.${randomUUID()}`;
    const handle = await open(fresh, 'wx');
    try {
      await handle.writeFile(text);
      await handle.sync();
    } finally {
      await handle.close();
    }
    await rename(fresh, file);
  }

  private get incoming(): string {
    return join(this.directory, '.incoming');
  }

  private framesFile(target: string): string {
    return target.replace(/\.zst$/, '.frames.json');
  }

  private unwritable(error: unknown): TallybayError {
    if (error instanceof TallybayError) return error;
    return new TallybayError(
      'landing_unwritable',
      `The landing store ${this.directory} cannot be written: ${(error as Error).message}`,
      { advice: 'Nothing was stored. Check the disk and its permissions, then send the log again.', cause: error },
    );
  }
}

/** A log while it arrives. Chunks are compressed in parallel and written in order. */
export class LandingDraft {
  private readonly hash = createHash('sha256');
  private readonly frames: LandedFrame[] = [];
  private readonly waiting: Promise<void>[] = [];
  private tail: Promise<void> = Promise.resolve();
  private at = 0;
  private bytes = 0;

  constructor(
    private readonly handle: FileHandle,
    readonly file: string,
  ) {}

  /** Content so far, in arrival order. */
  digest(bytes: Uint8Array): void {
    this.hash.update(bytes);
  }

  /**
   * Takes one chunk; resolves when there is room for the next, not when it is written.
   * @param onPacked called once the chunk's bytes are no longer needed
   */
  async add(chunk: Uint8Array, onPacked?: () => void): Promise<void> {
    const byteOffset = this.bytes;
    this.bytes += chunk.length;
    const packed = compress(chunk, ZSTD).finally(onPacked);
    const before = this.tail;
    this.tail = (async () => {
      const frame = await packed;
      await before;
      await writeFully(this.handle, frame, this.at);
      this.frames.push({ at: this.at, size: frame.length, byteOffset, byteLength: chunk.length });
      this.at += frame.length;
    })();
    // The rejection is seen by whoever awaits next; without this line Node would call it unhandled in between.
    this.tail.catch(() => {});
    this.waiting.push(this.tail);
    if (this.waiting.length >= MAX_IN_FLIGHT) await this.waiting.shift();
  }

  /** Resolves when every chunk so far is in the file; throws what went wrong on the way. */
  async written(): Promise<void> {
    await this.tail;
  }

  /** Waits for all chunks, syncs and closes. */
  async seal(): Promise<Landed> {
    await this.tail;
    await this.handle.sync();
    await this.handle.close();
    return { sha256: this.hash.digest('hex'), bytes: this.bytes, frames: this.frames };
  }

  /** Hash of what was given to `digest`, without ending it. */
  get sha256(): string {
    return this.hash.copy().digest('hex');
  }

  async discard(): Promise<void> {
    await this.tail.catch(() => {});
    await this.handle.close().catch(() => {});
    await rm(this.file, { force: true });
  }
}

/** @throws TallybayError `landing_corrupt` when the frame's checksum or length does not hold */
export function unpackFrame(name: string, frame: LandedFrame, bytes: Uint8Array): Buffer {
  let content: Buffer;
  try {
    content = zstdDecompressSync(bytes, { chunkSize: Math.max(64, frame.byteLength) });
  } catch (error) {
    throw corrupt(name, `the frame at byte ${frame.at}: ${(error as Error).message}`, error);
  }
  if (content.length !== frame.byteLength)
    throw corrupt(name, `the frame at byte ${frame.at} holds ${content.length} bytes, expected ${frame.byteLength}`);
  return content;
}

async function writeFully(handle: FileHandle, bytes: Uint8Array, position: number): Promise<void> {
  let done = 0;
  while (done < bytes.length) {
    const { bytesWritten } = await handle.write(bytes, done, bytes.length - done, position + done);
    done += bytesWritten;
  }
}

async function syncDirectory(directory: string): Promise<void> {
  const handle = await open(directory, 'r');
  try {
    await handle.sync();
  } finally {
    await handle.close();
  }
}

function corrupt(name: string, what: string, cause?: unknown): TallybayError {
  return new TallybayError('landing_corrupt', `The stored log ${name} is damaged: ${what}`, {
    advice: 'Send the original file again, or restore the landing store from a backup and decode the upload again.',
    cause,
  });
}
