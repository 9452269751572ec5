import { ByteBuffer } from './byte-buffer.js';

/** Field types of Apache Thrift's compact protocol (thrift-compact-protocol.md), as far as Parquet's structs use them. */
const COMPACT = { true: 1, false: 2, i32: 5, i64: 6, binary: 8, list: 9, struct: 12 } as const;

/** A struct to be written: field id -> value. Fields must be given in ascending id order. */
export type ThriftStruct = readonly (readonly [id: number, value: ThriftValue])[];
export type ThriftValue =
  | { i32: number }
  | { i64: number }
  | { bool: boolean }
  | { text: string }
  | { bytes: Uint8Array }
  | { struct: ThriftStruct }
  | { structs: ThriftStruct[] }
  | { i32s: number[] }
  | { texts: string[] };

const encoder = new TextEncoder();

export function writeStruct(out: ByteBuffer, struct: ThriftStruct): void {
  let last = 0;
  for (const [id, value] of struct) {
    const type = compactType(value);
    const delta = id - last;
    // Short form: delta in the high nibble; otherwise the type byte, then the id as zigzag varint.
    if (delta > 0 && delta <= 15) out.u8((delta << 4) | type);
    else {
      out.u8(type);
      out.zigzag(id);
    }
    last = id;
    writeValue(out, value);
  }
  out.u8(0);
}

export function thriftBytes(struct: ThriftStruct): Uint8Array {
  const out = new ByteBuffer(256);
  writeStruct(out, struct);
  return out.view8();
}

function compactType(value: ThriftValue): number {
  if ('i32' in value) return COMPACT.i32;
  if ('i64' in value) return COMPACT.i64;
  if ('bool' in value) return value.bool ? COMPACT.true : COMPACT.false;
  if ('text' in value || 'bytes' in value) return COMPACT.binary;
  if ('struct' in value) return COMPACT.struct;
  return COMPACT.list;
}

function writeValue(out: ByteBuffer, value: ThriftValue): void {
  if ('i32' in value) out.zigzag(value.i32);
  else if ('i64' in value) out.zigzag(value.i64);
  else if ('bool' in value) return;
  else if ('text' in value) writeBinary(out, encoder.encode(value.text));
  else if ('bytes' in value) writeBinary(out, value.bytes);
  else if ('struct' in value) writeStruct(out, value.struct);
  else if ('structs' in value) {
    writeListHeader(out, value.structs.length, COMPACT.struct);
    for (const item of value.structs) writeStruct(out, item);
  } else if ('i32s' in value) {
    writeListHeader(out, value.i32s.length, COMPACT.i32);
    for (const item of value.i32s) out.zigzag(item);
  } else {
    writeListHeader(out, value.texts.length, COMPACT.binary);
    for (const item of value.texts) writeBinary(out, encoder.encode(item));
  }
}

function writeBinary(out: ByteBuffer, bytes: Uint8Array): void {
  out.varint(bytes.length);
  out.append(bytes);
}

function writeListHeader(out: ByteBuffer, size: number, type: number): void {
  if (size < 15) out.u8((size << 4) | type);
  else {
    out.u8(0xf0 | type);
    out.varint(size);
  }
}
