import type { ByteBuffer } from './byte-buffer.js';

/** A run this long is cheaper as a repeated value than bit-packed. */
const MIN_REPEAT = 16;

/**
 * Width of dictionary indexes up to `maxValue`: whole bytes, since zstd finds repeats of bytes, not of bits, and bytes are
 * written without shifting.
 */
export const indexWidthOf = (maxValue: number): number =>
  maxValue <= 0 ? 0 : maxValue < 256 ? 8 : maxValue < 65_536 ? 16 : 24;

/**
 * RLE / bit-packing hybrid (Parquet format, Encodings.md "RLE = 3"):
 * repeated run: varint(length << 1), value in ceil(width / 8) bytes; packed run: varint(groups << 1 | 1), groups of 8 values.
 *
 * @param values unsigned, each < 2^bitWidth, bitWidth <= 24
 */
export function writeHybrid(out: ByteBuffer, values: Int32Array | Uint8Array, count: number, bitWidth: number): void {
  let packedFrom = 0;
  let i = 0;
  while (i + MIN_REPEAT <= count) {
    // A run of 16 covers a block of 8 from a multiple of 8 on, so only those starts are looked at.
    const value = values[i];
    if (values[i + 7] !== value || values[i + 3] !== value || values[i + 5] !== value) {
      i += 8;
      continue;
    }
    let end = i + 1;
    while (end < count && values[end] === value) end++;
    // Steps of 8 keep every packed run a whole number of groups.
    if (end - i < MIN_REPEAT) {
      i += 8;
      continue;
    }
    writePackedRun(out, values, packedFrom, i, bitWidth);
    out.varint((end - i) * 2);
    for (let shift = 0; shift < bitWidth; shift += 8) out.u8(((value as number) >>> shift) & 0xff);
    packedFrom = end;
    i = end;
  }
  writePackedRun(out, values, packedFrom, count, bitWidth);
}

/** The hybrid of `count` times 1 in one bit each: the definition levels of a column without nulls. */
export function writeOnes(out: ByteBuffer, count: number): void {
  out.varint(count * 2);
  out.u8(1);
}

function writePackedRun(
  out: ByteBuffer,
  values: Int32Array | Uint8Array,
  from: number,
  to: number,
  bitWidth: number,
): void {
  if (to <= from) return;
  const groups = Math.ceil((to - from) / 8);
  out.varint(groups * 2 + 1);
  const at = out.reserve(groups * bitWidth);
  packBits(out.bytes, at, values, from, to, bitWidth);
}

/** Little-endian bit packing, least significant bit first; the tail of the last group is zero. */
function packBits(
  bytes: Uint8Array,
  at: number,
  values: Int32Array | Uint8Array,
  from: number,
  to: number,
  bitWidth: number,
): void {
  if (bitWidth === 8 || bitWidth === 16) {
    packBytes(bytes, at, values, from, to, bitWidth);
    return;
  }
  let position = at;
  let pending = 0;
  let bits = 0;
  const end = at + Math.ceil((to - from) / 8) * bitWidth;
  for (let i = from; i < to; i++) {
    pending |= values[i]! << bits;
    bits += bitWidth;
    while (bits >= 8) {
      bytes[position++] = pending & 0xff;
      pending >>>= 8;
      bits -= 8;
    }
  }
  if (bits > 0) bytes[position++] = pending & 0xff;
  // The buffer is reused, so the padding must be cleared by hand.
  while (position < end) bytes[position++] = 0;
}

function packBytes(
  bytes: Uint8Array,
  at: number,
  values: Int32Array | Uint8Array,
  from: number,
  to: number,
  bitWidth: 8 | 16,
): void {
  let position = at;
  const end = at + Math.ceil((to - from) / 8) * bitWidth;
  if (bitWidth === 8) for (let i = from; i < to; i++) bytes[position++] = values[i]!;
  else
    for (let i = from; i < to; i++) {
      bytes[position++] = values[i]!;
      bytes[position++] = values[i]! >>> 8;
    }
  bytes.fill(0, position, end);
}

const BLOCK = 128;
const MINIBLOCKS = 4;
const MINIBLOCK = BLOCK / MINIBLOCKS;

/**
 * DELTA_BINARY_PACKED (Parquet format, Encodings.md "DELTA = 5"): times and row numbers become a few bytes a block.
 * @param values integers within +-2^52
 */
export function writeDelta(out: ByteBuffer, values: Float64Array, count: number): void {
  out.varint(BLOCK);
  out.varint(MINIBLOCKS);
  out.varint(count);
  out.zigzag(count > 0 ? values[0]! : 0);
  const deltas = new Float64Array(BLOCK);
  for (let start = 1; start < count; start += BLOCK) {
    const size = Math.min(BLOCK, count - start);
    let lowest = Number.POSITIVE_INFINITY;
    for (let i = 0; i < size; i++) {
      const delta = values[start + i]! - values[start + i - 1]!;
      deltas[i] = delta;
      if (delta < lowest) lowest = delta;
    }
    out.zigzag(lowest);
    writeDeltaBlock(out, deltas, size, lowest);
  }
}

function writeDeltaBlock(out: ByteBuffer, deltas: Float64Array, size: number, lowest: number): void {
  const widths: number[] = [];
  for (let m = 0; m < MINIBLOCKS; m++) {
    let highest = 0;
    for (let i = m * MINIBLOCK; i < Math.min(size, (m + 1) * MINIBLOCK); i++)
      highest = Math.max(highest, deltas[i]! - lowest);
    widths.push(highest === 0 ? 0 : Math.floor(Math.log2(highest)) + 1);
  }
  for (const width of widths) out.u8(width);
  for (let m = 0; m < MINIBLOCKS; m++) {
    const from = m * MINIBLOCK;
    // Miniblocks past the last value are not written, their width byte stays 0 (the format's own rule).
    if (from >= size || widths[m] === 0) continue;
    const at = out.reserve((MINIBLOCK * widths[m]!) / 8);
    out.bytes.fill(0, at, out.length);
    packWide(out.bytes, at, deltas, { from, to: Math.min(size, from + MINIBLOCK), lowest, width: widths[m]! });
  }
}

/** Packs values of up to 53 bits; slower than `packBits`, needed only for time deltas. */
function packWide(
  bytes: Uint8Array,
  at: number,
  deltas: Float64Array,
  run: { from: number; to: number; lowest: number; width: number },
): void {
  let bit = 0;
  for (let i = run.from; i < run.to; i++) {
    let rest = deltas[i]! - run.lowest;
    let left = run.width;
    while (left > 0) {
      const room = 8 - (bit & 7);
      const take = Math.min(room, left);
      const scale = 2 ** take;
      const low = rest % scale;
      bytes[at + (bit >> 3)]! |= low << (bit & 7);
      rest = (rest - low) / scale;
      bit += take;
      left -= take;
    }
  }
}
