import { type FileHandle, open, readdir } from 'node:fs/promises';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { recordCorrupt } from './file-problem.js';

/**
 * A partition is a row of segment files named by the offset of their first record (20 digits). Each begins with
 *
 *     0  8 bytes  "TBSPOOL1"        8  u64  base offset        16  u32  salt        20  u32  crc of bytes 0..20
 */
export const SEGMENT_HEADER_BYTES = 24;
const MAGIC = Buffer.from('TBSPOOL1', 'latin1');
const SUFFIX = '.seg';

export function segmentName(baseOffset: bigint): string {
  return baseOffset.toString().padStart(20, '0') + SUFFIX;
}

export function segmentPath(directory: string, baseOffset: bigint): string {
  return join(directory, segmentName(baseOffset));
}

/** Base offsets of the partition's segments, oldest first. */
export async function listSegments(directory: string): Promise<bigint[]> {
  const names = await readdir(directory);
  return names
    .filter((name) => name.endsWith(SUFFIX) && /^\d{20}$/.test(name.slice(0, -SUFFIX.length)))
    .sort()
    .map((name) => BigInt(name.slice(0, -SUFFIX.length)));
}

export function encodeSegmentHeader(baseOffset: bigint, salt: number): Buffer {
  const header = Buffer.alloc(SEGMENT_HEADER_BYTES);
  MAGIC.copy(header);
  header.writeBigUInt64LE(baseOffset, 8);
  header.writeUInt32LE(salt, 16);
  header.writeUInt32LE(crc32(header.subarray(0, 20)), 20);
  return header;
}

/** The segment's salt, or undefined when the header is incomplete or damaged. */
export function trySegmentSalt(header: Buffer, baseOffset: bigint): number | undefined {
  if (header.length < SEGMENT_HEADER_BYTES || !header.subarray(0, 8).equals(MAGIC)) return undefined;
  if (header.readBigUInt64LE(8) !== baseOffset) return undefined;
  return crc32(header.subarray(0, 20)) === header.readUInt32LE(20) ? header.readUInt32LE(16) : undefined;
}

export interface OpenSegment {
  handle: FileHandle;
  path: string;
  baseOffset: bigint;
  salt: number;
}

/**
 * Opens a segment for reading.
 * @throws TallybayError `stream_corrupt` when its header is damaged
 */
export async function openSegment(directory: string, baseOffset: bigint): Promise<OpenSegment> {
  const path = segmentPath(directory, baseOffset);
  const handle = await open(path, 'r');
  try {
    const salt = trySegmentSalt(await readAt(handle, 0, SEGMENT_HEADER_BYTES), baseOffset);
    if (salt === undefined) throw recordCorrupt(path, 0, baseOffset, 'the header of the segment file is damaged');
    return { handle, path, baseOffset, salt };
  } catch (error) {
    await handle.close();
    throw error;
  }
}

/** Up to `bytes` bytes from `position`; shorter at the end of the file. The buffer is not shared with anything. */
export async function readAt(handle: FileHandle, position: number, bytes: number): Promise<Buffer> {
  const buffer = Buffer.allocUnsafeSlow(bytes);
  let filled = 0;
  while (filled < bytes) {
    const { bytesRead } = await handle.read(buffer, filled, bytes - filled, position + filled);
    if (bytesRead === 0) break;
    filled += bytesRead;
  }
  return buffer.subarray(0, filled);
}
