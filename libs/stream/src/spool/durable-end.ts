import { type FileHandle, open, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { errnoOf } from './file-problem.js';

/**
 * How far a partition is synced to disk. Consumers, in this process or another, read up to here and no further, so that
 * nothing is delivered that a failed write or a power cut could still take back. Written in place after each sync:
 *
 *     0  u64  base offset of the newest segment    8  u64  position in it    16  u64  next offset    24  u32  crc of 0..24
 *
 * It is not synced itself: after a power cut it may be old or gone, and the tail is then searched from what is known.
 */
export interface DurableEnd {
  segment: bigint;
  position: number;
  nextOffset: bigint;
}

const BYTES = 28;
export const DURABLE_END_FILE = 'durable-end';

export function encodeDurableEnd(end: DurableEnd): Buffer {
  const bytes = Buffer.alloc(BYTES);
  bytes.writeBigUInt64LE(end.segment, 0);
  bytes.writeBigUInt64LE(BigInt(end.position), 8);
  bytes.writeBigUInt64LE(end.nextOffset, 16);
  bytes.writeUInt32LE(crc32(bytes.subarray(0, 24)), 24);
  return bytes;
}

/** Undefined when the bytes are incomplete, damaged, or were read while being replaced. */
export function tryDurableEnd(bytes: Buffer): DurableEnd | undefined {
  if (bytes.length !== BYTES || crc32(bytes.subarray(0, 24)) !== bytes.readUInt32LE(24)) return undefined;
  return {
    segment: bytes.readBigUInt64LE(0),
    position: Number(bytes.readBigUInt64LE(8)),
    nextOffset: bytes.readBigUInt64LE(16),
  };
}

/** Undefined when there is none, or (after a few tries, since a writer may be at work) none that can be read. */
export async function readDurableEnd(directory: string): Promise<DurableEnd | undefined> {
  for (let attempt = 0; attempt < 5; attempt++) {
    try {
      const end = tryDurableEnd(await readFile(join(directory, DURABLE_END_FILE)));
      if (end) return end;
    } catch (error) {
      if (errnoOf(error) === 'ENOENT') return undefined;
      throw error;
    }
  }
  return undefined;
}

export async function openDurableEnd(directory: string): Promise<FileHandle> {
  const path = join(directory, DURABLE_END_FILE);
  try {
    return await open(path, 'r+');
  } catch (error) {
    if (errnoOf(error) !== 'ENOENT') throw error;
    return await open(path, 'w+');
  }
}
