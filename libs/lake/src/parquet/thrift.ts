import { ByteBuffer } from './byte-buffer.js';

/** Field types of Apache Thrift's compact protocol (thrift-compact-protocol.md), as far as Parquet's structs use them. */
const COMPACT = { true: 1, false: 2, i32: 5, i64: 6, binary: 8, list: 9, struct: 12 } as const;

/** Writes the fields of one struct, in ascending order of their ids. */
export type ThriftFields = (to: ThriftWriter) => void;

const encoder = new TextEncoder();

/**
 * Writes structs of the compact protocol straight into a buffer: a samples file has some hundred columns, and trees of
 * objects for them would cost as much as encoding the values.
 */
export class ThriftWriter {
  private lastId = 0;

  constructor(private readonly out: ByteBuffer) {}

  i32(id: number, value: number): void {
    this.field(id, COMPACT.i32);
    this.out.zigzag(value);
  }

  i64(id: number, value: number): void {
    this.field(id, COMPACT.i64);
    this.out.zigzag(value);
  }

  bool(id: number, value: boolean): void {
    this.field(id, value ? COMPACT.true : COMPACT.false);
  }

  text(id: number, value: string): void {
    this.bytes(id, encoder.encode(value));
  }

  bytes(id: number, value: Uint8Array): void {
    this.field(id, COMPACT.binary);
    this.binary(value);
  }

  struct(id: number, fields: ThriftFields): void {
    this.field(id, COMPACT.struct);
    this.body(fields);
  }

  structs<T>(id: number, items: readonly T[], fields: (to: ThriftWriter, item: T, index: number) => void): void {
    this.list(id, items.length, COMPACT.struct);
    for (const [index, item] of items.entries()) this.body((to) => fields(to, item, index));
  }

  i32s(id: number, values: readonly number[]): void {
    this.list(id, values.length, COMPACT.i32);
    for (const value of values) this.out.zigzag(value);
  }

  texts(id: number, values: readonly string[]): void {
    this.list(id, values.length, COMPACT.binary);
    for (const value of values) this.binary(encoder.encode(value));
  }

  /** The fields and the stop byte behind them. */
  body(fields: ThriftFields): void {
    const outer = this.lastId;
    this.lastId = 0;
    fields(this);
    this.out.u8(0);
    this.lastId = outer;
  }

  /** Short form: the step from the last id in the high nibble; otherwise the type byte, then the id as zigzag varint. */
  private field(id: number, type: number): void {
    const step = id - this.lastId;
    if (step > 0 && step <= 15) this.out.u8((step << 4) | type);
    else {
      this.out.u8(type);
      this.out.zigzag(id);
    }
    this.lastId = id;
  }

  private list(id: number, size: number, type: number): void {
    this.field(id, COMPACT.list);
    if (size < 15) this.out.u8((size << 4) | type);
    else {
      this.out.u8(0xf0 | type);
      this.out.varint(size);
    }
  }

  private binary(bytes: Uint8Array): void {
    this.out.varint(bytes.length);
    this.out.append(bytes);
  }
}

/** One struct, appended to `out`. @returns its bytes, a view of `out` */
export function thriftBytes(fields: ThriftFields, out = new ByteBuffer(256)): Uint8Array {
  const start = out.length;
  new ThriftWriter(out).body(fields);
  return out.bytes.subarray(start, out.length);
}
