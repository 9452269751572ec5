/**
 * FlatBuffers as far as Arrow's metadata needs them (flatbuffers.dev, "FlatBuffer Internals"): tables, vectors of tables,
 * vectors of 16-byte structs, strings, scalars. Written front to back: a table first, what it points to after it.
 */
export type FlatValue =
  | { u8: number }
  | { i16: number }
  | { i32: number }
  | { i64: number }
  | { text: string }
  | { table: FlatTable }
  | { tables: readonly FlatTable[] }
  /** Pairs of int64, as Arrow's FieldNode and Buffer are. */
  | { pairs: readonly (readonly [number, number])[] };

/** Slot of the field in the schema -> value; an absent slot has its default. */
export type FlatTable = ReadonlyMap<number, FlatValue>;

export const flatTable = (...fields: [slot: number, value: FlatValue][]): FlatTable => new Map(fields);

/** Bytes of a buffer with this root, padded to 8. */
export function flatBuffer(root: FlatTable): Uint8Array {
  const out = new FlatWriter();
  const reference = out.reserve(4, 4);
  out.pointAt(reference, writeTable(out, root));
  out.align(8);
  return out.bytes.slice(0, out.length);
}

class FlatWriter {
  bytes = new Uint8Array(1024);
  length = 0;
  private view = new DataView(this.bytes.buffer);

  align(to: number): void {
    while (this.length % to !== 0) this.reserve(1, 1);
  }

  reserve(count: number, alignment: number): number {
    const at = Math.ceil(this.length / alignment) * alignment;
    if (at + count > this.bytes.length) {
      const grown = new Uint8Array(Math.max((at + count) * 2, 1024));
      grown.set(this.bytes);
      this.bytes = grown;
      this.view = new DataView(grown.buffer);
    }
    this.length = at + count;
    return at;
  }

  u8(at: number, value: number): void {
    this.view.setUint8(at, value);
  }

  i16(at: number, value: number): void {
    this.view.setInt16(at, value, true);
  }

  i32(at: number, value: number): void {
    this.view.setInt32(at, value, true);
  }

  i64(at: number, value: number): void {
    this.view.setBigInt64(at, BigInt(value), true);
  }

  /** An offset is counted from the place where it stands, forward. */
  pointAt(at: number, target: number): void {
    this.i32(at, target - at);
  }
}

/** Room of a field inside its table; what is elsewhere takes an offset of 4 bytes. */
function sizeOf(value: FlatValue): number {
  if ('u8' in value) return 1;
  if ('i16' in value) return 2;
  if ('i64' in value) return 8;
  return 4;
}

/** The vtable (its size, the table's size, each slot's place), then the table, then what it points to. */
function writeTable(out: FlatWriter, table: FlatTable): number {
  const slots = Math.max(-1, ...table.keys()) + 1;
  const vtable = out.reserve(4 + 2 * slots, 8);
  // Fields are laid out in falling size from the first multiple of 8 after the table's own offset, so all are aligned.
  const fields = [...table].sort(([, a], [, b]) => sizeOf(b) - sizeOf(a));
  const start = out.reserve(8, 8);
  const places = new Map(fields.map(([slot, value]) => [slot, out.reserve(sizeOf(value), sizeOf(value))]));
  out.i16(vtable, 4 + 2 * slots);
  out.i16(vtable + 2, out.length - start);
  out.i32(start, start - vtable);
  for (const [slot, at] of places) out.i16(vtable + 4 + 2 * slot, at - start);
  for (const [slot, value] of fields) writeField(out, places.get(slot)!, value);
  return start;
}

function writeField(out: FlatWriter, at: number, value: FlatValue): void {
  if ('u8' in value) out.u8(at, value.u8);
  else if ('i16' in value) out.i16(at, value.i16);
  else if ('i32' in value) out.i32(at, value.i32);
  else if ('i64' in value) out.i64(at, value.i64);
  else if ('text' in value) out.pointAt(at, writeText(out, value.text));
  else if ('table' in value) out.pointAt(at, writeTable(out, value.table));
  else if ('tables' in value) out.pointAt(at, writeTables(out, value.tables));
  else out.pointAt(at, writePairs(out, value.pairs));
}

function writeText(out: FlatWriter, text: string): number {
  const encoded = new TextEncoder().encode(text);
  const at = out.reserve(4 + encoded.length + 1, 4);
  out.i32(at, encoded.length);
  out.bytes.set(encoded, at + 4);
  return at;
}

function writeTables(out: FlatWriter, tables: readonly FlatTable[]): number {
  const at = out.reserve(4 + 4 * tables.length, 4);
  out.i32(at, tables.length);
  for (const [index, table] of tables.entries()) out.pointAt(at + 4 + 4 * index, writeTable(out, table));
  return at;
}

function writePairs(out: FlatWriter, pairs: readonly (readonly [number, number])[]): number {
  // The length stands right before the first struct, which is aligned to 8.
  out.align(8);
  out.reserve(4, 4);
  const at = out.reserve(4 + 16 * pairs.length, 4);
  out.i32(at, pairs.length);
  for (const [index, [first, second]] of pairs.entries()) {
    out.i64(at + 4 + 16 * index, first);
    out.i64(at + 4 + 16 * index + 8, second);
  }
  return at;
}
