import { constants, zstdCompressSync } from 'node:zlib';
import type { ColumnType } from '../tables.js';
import { ByteBuffer } from './byte-buffer.js';
import { FloatDictionary } from './dictionary.js';
import { indexWidthOf, writeDelta, writeHybrid, writeOnes } from './encodings.js';
import { CODEC, ENCODING, PAGE } from './format.js';
import { type ThriftFields, thriftBytes } from './thrift.js';

/**
 * One column of a row group. `floats`: NaN is null. `integers`: no nulls, exact in a double. `constant`: one text for
 * every row. `nulls`: nothing in it. `plain`: the values that are there, already PLAIN-encoded, and a 1 for each row that has
 * one (null: all have); no statistics. `list`: anything else; null and undefined are null, timestamps are epoch ms.
 */
export type ColumnData =
  | { kind: 'floats'; values: Float32Array }
  | { kind: 'integers'; values: Float64Array }
  | { kind: 'constant'; text: string }
  | { kind: 'nulls' }
  | { kind: 'plain'; bytes: Uint8Array; present: Uint8Array | null }
  | { kind: 'list'; values: readonly (string | number | boolean | null | undefined)[] };

export interface EncodedChunk {
  /** Valid until the encoder's next chunk: some are views of its scratch space. */
  parts: Uint8Array[];
  dictionaryBytes: number;
  uncompressedBytes: number;
  compressedBytes: number;
  encodings: number[];
  codec: number;
  nullCount: number;
  min: Uint8Array | null;
  max: Uint8Array | null;
}

/** Level 1: most of the size is won by the dictionary, and the writer is the path's hot spot. */
const ZSTD = { [constants.ZSTD_c_compressionLevel]: 1 };
/** Without the size zstd would set up tables for half a megabyte, and most pages are a few kilobytes. */
const compressed = (payload: Uint8Array): Uint8Array =>
  zstdCompressSync(payload, { params: ZSTD, pledgedSrcSize: payload.length });
/** Chunks up to this many bytes are left as they are: setting a compressor up costs more than it could win. */
const PLAIN_BYTES = 256;
const text = new TextEncoder();

/** Encodes column chunks; holds the scratch space that they share, so one encoder serves one writer at a time. */
export class ChunkEncoder {
  private readonly dictionary = new FloatDictionary();
  private indexes = new Int32Array(0);
  private levels = new Uint8Array(0);
  private readonly page = new ByteBuffer(1 << 16);
  private readonly dictionaryPage = new ByteBuffer(1 << 12);
  private readonly headers = new ByteBuffer(1 << 8);
  private lastNulls: { rowCount: number; chunk: EncodedChunk } | null = null;

  encode(type: ColumnType, data: ColumnData, rowCount: number): EncodedChunk {
    if (this.levels.length < rowCount) {
      this.levels = new Uint8Array(rowCount);
      this.indexes = new Int32Array(rowCount);
    }
    this.page.clear();
    this.dictionaryPage.clear();
    this.headers.clear();
    switch (data.kind) {
      case 'nulls':
        return this.nulls(rowCount);
      case 'floats':
        return this.floats(data.values, rowCount);
      case 'integers':
        return this.integers(data.values, rowCount);
      case 'constant':
        return this.constant(data.text, rowCount);
      case 'plain':
        return this.plain(data, rowCount);
      case 'list':
        return type === 'string' ? this.strings(data.values, rowCount) : this.scalars(type, data.values, rowCount);
    }
  }

  /** A log has values for half of the samples table's columns; the empty ones of a row group are all the same bytes. */
  private nulls(rowCount: number): EncodedChunk {
    if (this.lastNulls?.rowCount === rowCount) return this.lastNulls.chunk;
    this.levels.fill(0, 0, rowCount);
    this.writeLevels(rowCount, 0);
    const { parts, ...chunk } = this.finish(rowCount, 0, ENCODING.plain, null);
    this.lastNulls = { rowCount, chunk: { ...chunk, parts: parts.map((part) => part.slice()) } };
    return this.lastNulls.chunk;
  }

  private floats(values: Float32Array, rowCount: number): EncodedChunk {
    const count = this.dictionary.index(values, rowCount, this.indexes, this.levels);
    if (count === 0) return this.nulls(rowCount);
    if (count < 0) {
      const present = this.presentRows(rowCount);
      this.writeLevels(rowCount, present);
      writeByteStreamSplit(this.page, values, this.levels, rowCount, present);
      return this.finish(rowCount, present, ENCODING.byteStreamSplit, floatRange(values, rowCount));
    }
    this.writeLevels(rowCount, count);
    const { distinct, size } = this.dictionary;
    this.dictionaryPage.append(new Uint8Array(distinct.buffer, distinct.byteOffset, size * 4));
    this.writeIndexes(count, size);
    const range = floatRange(new Float32Array(distinct.buffer, distinct.byteOffset, size), size);
    return this.finish(rowCount, count, ENCODING.rleDictionary, range, size);
  }

  private presentRows(rowCount: number): number {
    let present = 0;
    for (let row = 0; row < rowCount; row++) present += this.levels[row]!;
    return present;
  }

  private integers(values: Float64Array, rowCount: number): EncodedChunk {
    this.writeLevels(rowCount, rowCount);
    writeDelta(this.page, values, rowCount);
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let row = 0; row < rowCount; row++) {
      const value = values[row]!;
      if (value < low) low = value;
      if (value > high) high = value;
    }
    return this.finish(rowCount, rowCount, ENCODING.delta, { min: int64Bytes(low), max: int64Bytes(high) });
  }

  private constant(value: string, rowCount: number): EncodedChunk {
    this.indexes.fill(0, 0, rowCount);
    this.writeLevels(rowCount, rowCount);
    const bytes = text.encode(value);
    this.dictionaryPage.u32(bytes.length);
    this.dictionaryPage.append(bytes);
    this.writeIndexes(rowCount, 1);
    return this.finish(rowCount, rowCount, ENCODING.rleDictionary, stringRange([bytes]), 1);
  }

  private plain(data: { bytes: Uint8Array; present: Uint8Array | null }, rowCount: number): EncodedChunk {
    if (data.present) this.levels.set(data.present.subarray(0, rowCount));
    const count = data.present ? this.presentRows(rowCount) : rowCount;
    this.writeLevels(rowCount, count);
    this.page.append(data.bytes);
    return this.finish(rowCount, count, ENCODING.plain, null);
  }

  private strings(values: readonly unknown[], rowCount: number): EncodedChunk {
    const seen = new Map<string, number>();
    let count = 0;
    let last: unknown;
    let index = 0;
    for (let row = 0; row < rowCount; row++) {
      const value = values[row];
      this.levels[row] = value === null || value === undefined ? 0 : 1;
      if (this.levels[row] === 0) continue;
      // Rows come sorted more often than not, so the last text is asked first.
      if (value !== last) {
        const key = String(value);
        index = seen.get(key) ?? seen.size;
        if (index === seen.size) seen.set(key, index);
        last = value;
      }
      this.indexes[count++] = index;
    }
    this.writeLevels(rowCount, count);
    if (count === 0) return this.finish(rowCount, 0, ENCODING.plain, null);
    const encoded = Array.from(seen.keys(), (key) => text.encode(key));
    for (const bytes of encoded) {
      this.dictionaryPage.u32(bytes.length);
      this.dictionaryPage.append(bytes);
    }
    this.writeIndexes(count, seen.size);
    return this.finish(rowCount, count, ENCODING.rleDictionary, stringRange(encoded), seen.size);
  }

  private scalars(type: ColumnType, values: readonly unknown[], rowCount: number): EncodedChunk {
    let count = 0;
    for (let row = 0; row < rowCount; row++) {
      const value = values[row];
      const present = value !== null && value !== undefined && !Number.isNaN(value);
      this.levels[row] = present ? 1 : 0;
      if (present) count++;
    }
    this.writeLevels(rowCount, count);
    const present = count === rowCount ? values : values.filter((_, row) => row < rowCount && this.levels[row] === 1);
    if (type === 'bool') writeBits(this.page, present as boolean[]);
    else {
      const write = SCALAR_WRITERS[type as ScalarType];
      for (let i = 0; i < count; i++) write(this.page, present[i] as number);
    }
    return this.finish(rowCount, count, ENCODING.plain, scalarRange(type, present));
  }

  /** Definition levels of an optional column: 4 bytes of length, then the hybrid of 0 (null) and 1 (value). */
  private writeLevels(rowCount: number, valueCount: number): void {
    const at = this.page.reserve(4);
    if (valueCount === rowCount) writeOnes(this.page, rowCount);
    else writeHybrid(this.page, this.levels, rowCount, 1);
    new DataView(this.page.bytes.buffer).setUint32(at, this.page.length - at - 4, true);
  }

  private writeIndexes(count: number, distinct: number): void {
    const width = indexWidthOf(distinct - 1);
    this.page.u8(width);
    writeHybrid(this.page, this.indexes, count, width);
  }

  private finish(
    rowCount: number,
    valueCount: number,
    encoding: number,
    range: { min: Uint8Array; max: Uint8Array } | null,
    distinct = 0,
  ): EncodedChunk {
    const parts: Uint8Array[] = [];
    const sizes = { uncompressed: 0, compressed: 0 };
    const isSmall = this.page.length + this.dictionaryPage.length <= PLAIN_BYTES;
    const add = (payload: Uint8Array, page: number, fields: ThriftFields) => {
      const content = isSmall ? payload : compressed(payload);
      const header = thriftBytes((to) => {
        to.i32(1, page);
        to.i32(2, payload.length);
        to.i32(3, content.length);
        fields(to);
      }, this.headers);
      parts.push(header, content);
      sizes.uncompressed += header.length + payload.length;
      sizes.compressed += header.length + content.length;
    };
    if (distinct > 0) add(this.dictionaryPage.view8(), PAGE.dictionary, dictionaryHeader(distinct));
    const dictionaryBytes = sizes.compressed;
    add(this.page.view8(), PAGE.data, dataHeader(rowCount, encoding));
    return {
      parts,
      dictionaryBytes,
      uncompressedBytes: sizes.uncompressed,
      compressedBytes: sizes.compressed,
      codec: isSmall ? CODEC.none : CODEC.zstd,
      encodings: distinct > 0 ? [ENCODING.plain, ENCODING.rle, encoding] : [ENCODING.rle, encoding],
      nullCount: rowCount - valueCount,
      min: range?.min ?? null,
      max: range?.max ?? null,
    };
  }
}

const dictionaryHeader =
  (distinct: number): ThriftFields =>
  (to) =>
    to.struct(7, (header) => {
      header.i32(1, distinct);
      header.i32(2, ENCODING.plain);
    });

const dataHeader =
  (rowCount: number, encoding: number): ThriftFields =>
  (to) =>
    to.struct(5, (header) => {
      header.i32(1, rowCount);
      header.i32(2, encoding);
      header.i32(3, ENCODING.rle);
      header.i32(4, ENCODING.rle);
    });

/** BYTE_STREAM_SPLIT: all first bytes, then all second bytes, …; noisy floats compress better that way. */
function writeByteStreamSplit(
  out: ByteBuffer,
  values: Float32Array,
  levels: Uint8Array,
  rowCount: number,
  count: number,
): void {
  const bytes = new Uint8Array(values.buffer, values.byteOffset, rowCount * 4);
  const at = out.reserve(count * 4);
  const target = out.bytes;
  let written = at;
  for (let row = 0; row < rowCount; row++) {
    if (levels[row] === 0) continue;
    const source = row * 4;
    target[written] = bytes[source]!;
    target[written + count] = bytes[source + 1]!;
    target[written + 2 * count] = bytes[source + 2]!;
    target[written + 3 * count] = bytes[source + 3]!;
    written++;
  }
}

function writeBits(out: ByteBuffer, values: readonly boolean[]): void {
  const at = out.reserve(Math.ceil(values.length / 8));
  out.bytes.fill(0, at, out.length);
  for (const [i, value] of values.entries()) if (value) out.bytes[at + (i >> 3)]! |= 1 << (i & 7);
}

type ScalarType = Exclude<ColumnType, 'string' | 'bool'>;
const SCALAR_WRITERS: Record<ScalarType, (out: ByteBuffer, value: number) => void> = {
  int32: (out, value) => out.u32(value),
  int64: (out, value) => out.i64(value),
  timestamp: (out, value) => out.i64(Math.round(value * 1000)),
  local_timestamp: (out, value) => out.i64(Math.round(value * 1000)),
  date: (out, value) => out.u32(value),
  float: (out, value) => out.f32(value),
  double: (out, value) => out.f64(value),
};

function scalarRange(type: ColumnType, values: readonly unknown[]): { min: Uint8Array; max: Uint8Array } | null {
  if (type === 'bool' || values.length === 0) return null;
  let low = values[0] as number;
  let high = low;
  for (const value of values as number[]) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return {
    min: scalarBytes(type as ScalarType, zeroBelow(low)),
    max: scalarBytes(type as ScalarType, zeroAbove(high)),
  };
}

function scalarBytes(type: ScalarType, value: number): Uint8Array {
  const out = new ByteBuffer(8);
  SCALAR_WRITERS[type](out, value);
  return out.view8();
}

const int64Bytes = (value: number): Uint8Array => scalarBytes('int64', value);

// The format asks that a minimum of zero be written as -0 and a maximum as +0, since readers compare by bits.
const zeroBelow = (value: number): number => (value === 0 ? -0 : value);
const zeroAbove = (value: number): number => (value === 0 ? 0 : value);

function floatRange(values: Float32Array, rowCount: number): { min: Uint8Array; max: Uint8Array } | null {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let row = 0; row < rowCount; row++) {
    const value = values[row]!;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  if (low > high) return null;
  return { min: scalarBytes('float', zeroBelow(low)), max: scalarBytes('float', zeroAbove(high)) };
}

/** Byte-wise extremes; long texts carry no statistics, since a truncated maximum would have to be rounded up. */
function stringRange(encoded: readonly Uint8Array[]): { min: Uint8Array; max: Uint8Array } | null {
  if (encoded.some((bytes) => bytes.length > 64)) return null;
  const sorted = [...encoded].sort(compareBytes);
  return { min: sorted[0]!, max: sorted[sorted.length - 1]! };
}

function compareBytes(a: Uint8Array, b: Uint8Array): number {
  const shared = Math.min(a.length, b.length);
  for (let i = 0; i < shared; i++) if (a[i] !== b[i]) return a[i]! - b[i]!;
  return a.length - b.length;
}
