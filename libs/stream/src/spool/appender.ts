import { randomInt } from 'node:crypto';
import { type FileHandle, open } from 'node:fs/promises';
import { type DurableEnd, encodeDurableEnd, openDurableEnd, readDurableEnd } from './durable-end.js';
import { syncDirectory, writeAll } from './durable-file.js';
import { spoolUnavailable } from './file-problem.js';
import { type EncodedBody, sealFrame } from './frame.js';
import { recoverTail } from './recover.js';
import { encodeSegmentHeader, SEGMENT_HEADER_BYTES, segmentPath } from './segment.js';
import { SparseIndexWriter } from './sparse-index.js';
import { WriterLease } from './writer-lease.js';

/** One sync covers at most so many bytes, so that a flood of small sends does not wait for one huge write. */
const FLUSH_BYTES = 32 * 1024 * 1024;
const MAX_SALT = 2 ** 32;

interface Waiting {
  bodies: EncodedBody[];
  resolve(): void;
  reject(error: unknown): void;
}

interface OpenTail extends DurableEnd {
  segmentFile: FileHandle;
  endFile: FileHandle;
  index: SparseIndexWriter;
  salt: number;
}

export interface AppenderOptions {
  segmentBytes: number;
  /** Called after each sync, with what may now be read. */
  onAdvanced(end: DurableEnd): void;
  onProblem(error: unknown): void;
}

/**
 * Appends to one partition. Sends that arrive while a sync runs share the next one (group commit); each resolves only
 * when its bytes are on disk. After a failed write the file is cut back to what was acknowledged.
 */
export class Appender {
  private readonly queue: Waiting[] = [];
  private readonly lease: WriterLease;
  private tail: OpenTail | undefined;
  private running: Promise<void> | undefined;

  constructor(
    private readonly directory: string,
    private readonly options: AppenderOptions,
  ) {
    this.lease = new WriterLease(directory, () => this.forgetTail());
  }

  /** Appends in order, all in one piece. @throws TallybayError `stream_unavailable` */
  append(bodies: EncodedBody[]): Promise<void> {
    return new Promise((resolve, reject) => {
      this.queue.push({ bodies, resolve, reject });
      this.running ??= this.drain();
    });
  }

  /** Finds and syncs the end of the partition, e.g. after a crash, so that consumers see all of it. */
  async recover(): Promise<void> {
    await this.append([]);
  }

  async close(): Promise<void> {
    while (this.running) await this.running;
    await this.lease.close();
    await this.forgetTail();
  }

  private async drain(): Promise<void> {
    while (this.queue.length > 0) {
      const group = this.takeGroup();
      try {
        await this.lease.take();
        await this.flush(group.flatMap((waiting) => waiting.bodies));
        for (const waiting of group) waiting.resolve();
      } catch (error) {
        const problem = spoolUnavailable('write to', this.directory, error);
        for (const waiting of group) waiting.reject(problem);
      }
      await this.lease.yieldIfWanted().catch(this.options.onProblem);
    }
    this.running = undefined;
    this.lease.releaseWhenIdle();
  }

  private takeGroup(): Waiting[] {
    let bytes = 0;
    let count = 0;
    for (const waiting of this.queue) {
      for (const body of waiting.bodies) bytes += body.bytes;
      if (count > 0 && bytes > FLUSH_BYTES) break;
      count++;
    }
    return this.queue.splice(0, count);
  }

  private async flush(bodies: EncodedBody[]): Promise<void> {
    let tail = (this.tail ??= await this.openTail());
    if (bodies.length === 0) return;
    if (tail.position >= this.options.segmentBytes) tail = this.tail = await this.roll(tail, tail.nextOffset);
    const timestampMs = Date.now();
    const durableOffset = tail.nextOffset;
    let offset = tail.nextOffset;
    const buffers: Uint8Array[] = [];
    for (const body of bodies) {
      sealFrame(body, { offset: offset++, timestampMs, durableOffset, salt: tail.salt });
      buffers.push(body.head);
      if (body.value) buffers.push(body.value);
    }
    try {
      const position = await writeAll(tail.segmentFile, buffers, tail.position);
      await tail.segmentFile.datasync();
      const end = { segment: tail.segment, position, nextOffset: offset };
      await tail.endFile.write(encodeDurableEnd(end), 0, undefined, 0);
      const start = { position: tail.position, nextOffset: tail.nextOffset };
      Object.assign(tail, end);
      this.options.onAdvanced(end);
      // The index is only an aid: what it lacks costs a longer seek, so its failure must not fail the send.
      await tail.index.add(bodies, start).catch(this.options.onProblem);
    } catch (error) {
      await this.takeBack(tail);
      throw error;
    }
  }

  /**
   * Whatever reached the file was not acknowledged: cut it. If even that fails, the next `openTail` sorts it out (whole
   * records may then be delivered although their send was rejected: at least once, never lost).
   */
  private async takeBack(tail: OpenTail): Promise<void> {
    await tail.segmentFile.truncate(tail.position).catch(this.options.onProblem);
    await this.forgetTail();
  }

  private async openTail(): Promise<OpenTail> {
    const found = await recoverTail(this.directory, this.options.onProblem);
    const endFile = await openDurableEnd(this.directory);
    try {
      if (!found) return await this.createSegment(endFile, (await readDurableEnd(this.directory))?.nextOffset ?? 0n);
      if (found.mustRoll) return await this.createSegment(endFile, found.nextOffset);
      const segmentFile = await open(segmentPath(this.directory, found.segment), 'r+');
      await endFile.write(encodeDurableEnd(found), 0, undefined, 0);
      this.options.onAdvanced(found);
      const index = await SparseIndexWriter.open(this.directory, found.segment);
      const { segment, position, nextOffset, salt } = found;
      return { segment, position, nextOffset, salt, segmentFile, endFile, index };
    } catch (error) {
      await endFile.close();
      throw error;
    }
  }

  private async roll(full: OpenTail, baseOffset: bigint): Promise<OpenTail> {
    const next = await this.createSegment(full.endFile, baseOffset);
    await full.segmentFile.close();
    await full.index.close();
    return next;
  }

  /** The new file's header and name are synced before any record goes into it. */
  private async createSegment(endFile: FileHandle, baseOffset: bigint): Promise<OpenTail> {
    const salt = randomInt(MAX_SALT);
    const segmentFile = await open(segmentPath(this.directory, baseOffset), 'w+');
    try {
      await writeAll(segmentFile, [encodeSegmentHeader(baseOffset, salt)], 0);
      await segmentFile.datasync();
      await syncDirectory(this.directory);
      const end = { segment: baseOffset, position: SEGMENT_HEADER_BYTES, nextOffset: baseOffset };
      await endFile.write(encodeDurableEnd(end), 0, undefined, 0);
      const index = await SparseIndexWriter.open(this.directory, baseOffset);
      return { ...end, salt, segmentFile, endFile, index };
    } catch (error) {
      await segmentFile.close();
      throw error;
    }
  }

  private async forgetTail(): Promise<void> {
    const tail = this.tail;
    this.tail = undefined;
    if (!tail) return;
    await Promise.all([tail.segmentFile.close(), tail.endFile.close(), tail.index.close()]);
  }
}
