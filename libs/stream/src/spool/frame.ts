import { crc32 } from 'node:zlib';
import type { StreamMessage } from '../port.js';

/**
 * One record, all integers little-endian, CRC-32 as in RFC 1952:
 *
 *     0  u32  magic "TBR1"
 *     4  u32  crc of bytes 8..48, seeded with the segment's salt (so a record copied inside a value is never taken for one)
 *     8  u32  crc of the body
 *    12  u32  key bytes        16  u32  headers bytes        20  u32  value bytes
 *    24  u64  offset
 *    32  i64  timestamp, epoch ms
 *    40  u64  durable offset: every record below it had been synced to disk when this one was written
 *    48       key (UTF-8), headers (JSON, UTF-8), value
 *
 * The durable offset is what tells a torn tail from damage at the next start: a broken record that a later one calls
 * durable had been acknowledged and must not be cut away.
 */
export const FRAME_HEADER_BYTES = 48;
const MAGIC = Buffer.from('TBR1', 'latin1');
const MAGIC_NUMBER = MAGIC.readUInt32LE(0);
/** Values up to this size are copied behind their header: fewer, larger buffers cost less than the copy. */
const INLINE_VALUE_BYTES = 4096;

export interface FrameHeader {
  bodyCrc: number;
  keyBytes: number;
  headersBytes: number;
  valueBytes: number;
  offset: bigint;
  timestampMs: number;
  durableOffset: bigint;
}

/** Whole length of the record in the file. */
export function frameBytes(header: FrameHeader): number {
  return FRAME_HEADER_BYTES + header.keyBytes + header.headersBytes + header.valueBytes;
}

export interface EncodedBody {
  /** Header space (48 bytes, filled by `sealFrame`), key, headers and, if small, the value. */
  head: Buffer;
  /** A large value, by reference and never copied; the sender must not change it until the send resolves. */
  value: Uint8Array | null;
  bytes: number;
}

/** Lays out everything that does not depend on where the record will stand. */
export function encodeBody(message: StreamMessage): EncodedBody {
  const headers = JSON.stringify(message.headers);
  const keyBytes = Buffer.byteLength(message.key);
  const headersBytes = Buffer.byteLength(headers);
  const valueBytes = message.value.byteLength;
  const inline = valueBytes <= INLINE_VALUE_BYTES;
  const valueAt = FRAME_HEADER_BYTES + keyBytes + headersBytes;
  const head = Buffer.allocUnsafe(valueAt + (inline ? valueBytes : 0));
  head.write(message.key, FRAME_HEADER_BYTES, 'utf8');
  head.write(headers, FRAME_HEADER_BYTES + keyBytes, 'utf8');
  if (inline) head.set(message.value, valueAt);
  let bodyCrc = crc32(head.subarray(FRAME_HEADER_BYTES));
  if (!inline) bodyCrc = crc32(message.value, bodyCrc);
  head.writeUInt32LE(MAGIC_NUMBER, 0);
  head.writeUInt32LE(bodyCrc, 8);
  head.writeUInt32LE(keyBytes, 12);
  head.writeUInt32LE(headersBytes, 16);
  head.writeUInt32LE(valueBytes, 20);
  return { head, value: inline ? null : message.value, bytes: valueAt + valueBytes };
}

export interface FramePlace {
  offset: bigint;
  timestampMs: number;
  durableOffset: bigint;
  salt: number;
}

/** Gives an encoded body its place in the log; may be called again for another place when a write has failed. */
export function sealFrame(body: EncodedBody, place: FramePlace): void {
  const { head } = body;
  head.writeBigUInt64LE(place.offset, 24);
  head.writeBigInt64LE(BigInt(place.timestampMs), 32);
  head.writeBigUInt64LE(place.durableOffset, 40);
  head.writeUInt32LE(crc32(head.subarray(8, FRAME_HEADER_BYTES), place.salt), 4);
}

/** The header at `at`, or undefined when there are too few bytes or they are not a header of this segment. */
export function tryFrameHeader(bytes: Buffer, at: number, salt: number): FrameHeader | undefined {
  if (at + FRAME_HEADER_BYTES > bytes.length || bytes.readUInt32LE(at) !== MAGIC_NUMBER) return undefined;
  if (crc32(bytes.subarray(at + 8, at + FRAME_HEADER_BYTES), salt) !== bytes.readUInt32LE(at + 4)) return undefined;
  return {
    bodyCrc: bytes.readUInt32LE(at + 8),
    keyBytes: bytes.readUInt32LE(at + 12),
    headersBytes: bytes.readUInt32LE(at + 16),
    valueBytes: bytes.readUInt32LE(at + 20),
    offset: bytes.readBigUInt64LE(at + 24),
    timestampMs: Number(bytes.readBigInt64LE(at + 32)),
    durableOffset: bytes.readBigUInt64LE(at + 40),
  };
}

/** True when the whole body stands in `bytes` and matches its checksum. */
export function bodyIsIntact(bytes: Buffer, at: number, header: FrameHeader): boolean {
  const end = at + frameBytes(header);
  return end <= bytes.length && crc32(bytes.subarray(at + FRAME_HEADER_BYTES, end)) === header.bodyCrc;
}

/** The message at `at`; its value is a view of `bytes`. Call only when `bodyIsIntact`. */
export function messageAt(bytes: Buffer, at: number, header: FrameHeader): StreamMessage {
  const keyAt = at + FRAME_HEADER_BYTES;
  const headersAt = keyAt + header.keyBytes;
  const valueAt = headersAt + header.headersBytes;
  return {
    key: bytes.toString('utf8', keyAt, headersAt),
    headers: JSON.parse(bytes.toString('utf8', headersAt, valueAt)) as Record<string, string>,
    value: bytes.subarray(valueAt, valueAt + header.valueBytes),
  };
}

/** Position of the next valid header at or after `from`, or -1. */
export function findFrame(bytes: Buffer, from: number, salt: number): number {
  for (let at = bytes.indexOf(MAGIC, from); at !== -1; at = bytes.indexOf(MAGIC, at + 1)) {
    if (tryFrameHeader(bytes, at, salt)) return at;
  }
  return -1;
}
