import { type FileHandle, open, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { errnoOf } from './file-problem.js';
import type { EncodedBody } from './frame.js';
import { SEGMENT_HEADER_BYTES, segmentName } from './segment.js';

/**
 * Next to each segment, `<base>.idx`: rows of u64 offset, u64 position, at least 1 MiB of log apart, in order. It only
 * shortens a seek: it is not synced, may lack rows or hold wrong ones after a crash, and the reader checks what it finds.
 */
const ROW_BYTES = 16;
const STRIDE_BYTES = 1024 * 1024;

export function indexPath(directory: string, baseOffset: bigint): string {
  return join(directory, segmentName(baseOffset).replace(/\.seg$/, '.idx'));
}

export class SparseIndexWriter {
  private lastPosition = SEGMENT_HEADER_BYTES;

  private constructor(private readonly handle: FileHandle) {}

  static async open(directory: string, baseOffset: bigint): Promise<SparseIndexWriter> {
    return new SparseIndexWriter(await open(indexPath(directory, baseOffset), 'a'));
  }

  /** `start` is where the first of `bodies` has been written. */
  async add(bodies: EncodedBody[], start: { position: number; nextOffset: bigint }): Promise<void> {
    const rows: Buffer[] = [];
    let { position, nextOffset: offset } = start;
    for (const body of bodies) {
      if (position - this.lastPosition >= STRIDE_BYTES) {
        rows.push(encodeRow(offset, position));
        this.lastPosition = position;
      }
      position += body.bytes;
      offset++;
    }
    if (rows.length > 0) await this.handle.write(Buffer.concat(rows));
  }

  async close(): Promise<void> {
    await this.handle.close();
  }
}

function encodeRow(offset: bigint, position: number): Buffer {
  const row = Buffer.alloc(ROW_BYTES);
  row.writeBigUInt64LE(offset, 0);
  row.writeBigUInt64LE(BigInt(position), 8);
  return row;
}

/** Where to start looking for `offset`, nearest first; the segment's beginning is always last. */
export async function seekCandidates(directory: string, baseOffset: bigint, offset: bigint) {
  const start = { offset: baseOffset, position: SEGMENT_HEADER_BYTES };
  let bytes: Buffer;
  try {
    bytes = await readFile(indexPath(directory, baseOffset));
  } catch (error) {
    if (errnoOf(error) === 'ENOENT') return [start];
    throw error;
  }
  const rows: { offset: bigint; position: number }[] = [];
  for (let at = 0; at + ROW_BYTES <= bytes.length; at += ROW_BYTES) {
    const row = { offset: bytes.readBigUInt64LE(at), position: Number(bytes.readBigUInt64LE(at + 8)) };
    if (row.offset <= offset) rows.push(row);
  }
  return [...rows.reverse(), start];
}
