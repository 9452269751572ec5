import type { ReceivedMessage } from '../port.js';
import type { DurableEnd } from './durable-end.js';
import { recordCorrupt } from './file-problem.js';
import {
  bodyIsIntact,
  FRAME_HEADER_BYTES,
  type FrameHeader,
  findFrame,
  frameBytes,
  messageAt,
  tryFrameHeader,
} from './frame.js';
import { listSegments, type OpenSegment, openSegment, readAt, SEGMENT_HEADER_BYTES, segmentPath } from './segment.js';
import { seekCandidates } from './sparse-index.js';

export interface ReaderOptions {
  directory: string;
  topic: string;
  partition: number;
  onCorrupt: 'halt' | 'skip';
  onProblem(error: unknown): void;
  /** How far the partition is synced; undefined while nothing is. */
  durableEnd(): Promise<DurableEnd | undefined>;
}

interface Batch {
  messages: ReceivedMessage[];
  bytes: number;
}

/** Reads one partition in order from a given offset, never past what is synced. Not for concurrent use. */
export class PartitionReader {
  private segment: OpenSegment | undefined;
  private position = 0;
  private needBytes = 0;
  private reportedOffset: bigint | undefined;

  constructor(
    private readonly options: ReaderOptions,
    private nextOffset: bigint,
  ) {}

  /**
   * The next messages, at most `maxBytes` of record bytes (one larger record is returned alone) and `maxMessages`; empty
   * when there is nothing new. Values are views of one buffer per call.
   * @throws TallybayError `stream_corrupt` under `halt`, at each call until the reader is given up
   */
  async read(maxBytes: number, maxMessages: number): Promise<ReceivedMessage[]> {
    const end = await this.options.durableEnd();
    if (!end || this.nextOffset >= end.nextOffset) return [];
    for (;;) {
      const segment = (this.segment ??= await this.seek());
      const sealed = segment.baseOffset < end.segment;
      const limit = sealed ? (await segment.handle.stat()).size : end.position;
      if (this.position >= limit) {
        if (!sealed) return [];
        await this.goToNextSegment(segment);
        continue;
      }
      const wanted = Math.max(this.needBytes, Math.min(maxBytes, limit - this.position));
      const block = await readAt(segment.handle, this.position, Math.min(wanted, limit - this.position));
      const batch = this.takeFrom(block, { segment, limit, maxBytes, maxMessages });
      if (batch.messages.length > 0) return batch.messages;
    }
  }

  async close(): Promise<void> {
    await this.segment?.handle.close();
    this.segment = undefined;
  }

  private takeFrom(
    block: Buffer,
    at: { segment: OpenSegment; limit: number; maxBytes: number; maxMessages: number },
  ): Batch {
    const { segment } = at;
    const batch: Batch = { messages: [], bytes: 0 };
    const base = this.position;
    this.needBytes = 0;
    let cursor = 0;
    while (cursor < block.length && batch.messages.length < at.maxMessages) {
      const left = at.limit - base - cursor;
      const header = tryFrameHeader(block, cursor, segment.salt);
      const whole = header ? frameBytes(header) : FRAME_HEADER_BYTES;
      if (cursor + whole > block.length && whole <= left) {
        this.needBytes = whole;
        break;
      }
      if (batch.bytes > 0 && batch.bytes + whole > at.maxBytes) break;
      const problem = this.problemWith(block, cursor, header);
      if (problem && batch.messages.length > 0) break;
      if (problem) cursor = this.stepOver(block, cursor, { header, segment, problem, left, base });
      else cursor += this.accept(block, cursor, header!, batch);
    }
    this.position = base + cursor;
    return batch;
  }

  private problemWith(block: Buffer, at: number, header: FrameHeader | undefined): string | undefined {
    if (!header) return 'its header does not match its checksum';
    if (header.offset > this.nextOffset) return `records up to ${header.offset} are missing`;
    // Records in front of the wanted one, after a seek, are passed by without looking at their bodies.
    if (header.offset < this.nextOffset) return undefined;
    return bodyIsIntact(block, at, header) ? undefined : 'its body does not match its checksum';
  }

  private accept(block: Buffer, at: number, header: FrameHeader, batch: Batch): number {
    const bytes = frameBytes(header);
    if (header.offset < this.nextOffset) return bytes;
    const { topic, partition } = this.options;
    const { offset, timestampMs } = header;
    batch.messages.push({ ...messageAt(block, at, header), topic, partition, offset, timestampMs });
    batch.bytes += bytes;
    this.nextOffset = offset + 1n;
    return bytes;
  }

  /** Reports a damaged record and returns where to go on. @throws the report itself under `halt` */
  private stepOver(
    block: Buffer,
    at: number,
    damage: { header: FrameHeader | undefined; segment: OpenSegment; problem: string; left: number; base: number },
  ): number {
    const { header, segment } = damage;
    const error = recordCorrupt(segment.path, damage.base + at, this.nextOffset, damage.problem);
    this.haltOrReport(error);
    if (header && header.offset > this.nextOffset) {
      this.nextOffset = header.offset;
      return at;
    }
    if (header && frameBytes(header) <= damage.left) {
      this.nextOffset++;
      return at + frameBytes(header);
    }
    const found = findFrame(block, at + 1, segment.salt);
    if (found === -1) {
      // A header may begin in the last bytes of this block and end in the next one, unless this one ends the segment.
      const last = damage.left <= block.length - at;
      return last ? block.length : Math.max(at + 1, block.length - FRAME_HEADER_BYTES + 1);
    }
    const { offset } = tryFrameHeader(block, found, segment.salt)!;
    if (offset > this.nextOffset) this.nextOffset = offset;
    return found;
  }

  /** A damaged stretch may span several blocks; it is reported once. */
  private haltOrReport(error: unknown): void {
    if (this.options.onCorrupt === 'halt') throw error;
    if (this.reportedOffset !== this.nextOffset) this.options.onProblem(error);
    this.reportedOffset = this.nextOffset;
  }

  private async seek(): Promise<OpenSegment> {
    const { directory } = this.options;
    const segments = await listSegments(directory);
    const base = segments.findLast((candidate) => candidate <= this.nextOffset) ?? segments[0];
    if (base === undefined) {
      throw recordCorrupt(segmentPath(directory, 0n), 0, this.nextOffset, 'the segment files are gone');
    }
    // Older segments have been deleted because every group had read them: a new group begins with what is left.
    if (base > this.nextOffset) this.nextOffset = base;
    const segment = await openSegment(directory, base);
    this.position = await this.positionIn(segment);
    return segment;
  }

  private async positionIn(segment: OpenSegment): Promise<number> {
    for (const candidate of await seekCandidates(this.options.directory, segment.baseOffset, this.nextOffset)) {
      const head = await readAt(segment.handle, candidate.position, FRAME_HEADER_BYTES);
      if (tryFrameHeader(head, 0, segment.salt)?.offset === candidate.offset) return candidate.position;
    }
    return SEGMENT_HEADER_BYTES;
  }

  private async goToNextSegment(current: OpenSegment): Promise<void> {
    const next = (await listSegments(this.options.directory)).find((base) => base > current.baseOffset);
    if (next === undefined)
      throw recordCorrupt(current.path, this.position, this.nextOffset, 'the next segment is gone');
    if (next > this.nextOffset) {
      const what = `records up to ${next} are missing at the end of the segment`;
      const error = recordCorrupt(current.path, this.position, this.nextOffset, what);
      this.haltOrReport(error);
      this.nextOffset = next;
    }
    const opened = await openSegment(this.options.directory, next);
    await this.close();
    this.segment = opened;
    this.position = SEGMENT_HEADER_BYTES;
  }
}

/** Offset of the oldest record still kept; 0 for an empty partition. */
export async function oldestOffset(directory: string): Promise<bigint> {
  return (await listSegments(directory))[0] ?? 0n;
}
