import {
  type DuckDBDataChunk,
  type DuckDBType,
  DuckDBTypeId,
  type DuckDBValue,
  type DuckDBVector,
  JsonDuckDBValueConverter,
} from '@duckdb/node-api';
import type { ColumnType } from '../tables.js';
import { copyTexts } from './stored-texts.js';
import { TextColumn } from './text-column.js';

/** A column of an answer. Types that open files do not share are carried as the nearest that they do; `duckType` names them. */
export interface ResultColumn {
  name: string;
  type: ColumnType;
  duckType: string;
}

type Numbers = Int32Array | BigInt64Array | Float32Array | Float64Array | Uint8Array;

/** Rows that wait to be encoded: typed values by column, or texts; `present` has a 0 for every null. */
export interface ColumnBlock {
  column: ResultColumn;
  /** Null for texts. Instants are microseconds since 1970 in UTC, dates are days. */
  numbers: Numbers | null;
  texts: TextColumn | null;
  present: Uint8Array;
  nulls: number;
}

export interface ResultBlock {
  rows: number;
  columns: ColumnBlock[];
}

const TYPE_OF: Partial<Record<DuckDBTypeId, ColumnType>> = {
  [DuckDBTypeId.BOOLEAN]: 'bool',
  [DuckDBTypeId.TINYINT]: 'int32',
  [DuckDBTypeId.SMALLINT]: 'int32',
  [DuckDBTypeId.INTEGER]: 'int32',
  [DuckDBTypeId.UTINYINT]: 'int32',
  [DuckDBTypeId.USMALLINT]: 'int32',
  [DuckDBTypeId.UINTEGER]: 'int64',
  [DuckDBTypeId.BIGINT]: 'int64',
  [DuckDBTypeId.UBIGINT]: 'double',
  [DuckDBTypeId.HUGEINT]: 'double',
  [DuckDBTypeId.UHUGEINT]: 'double',
  [DuckDBTypeId.DECIMAL]: 'double',
  [DuckDBTypeId.FLOAT]: 'float',
  [DuckDBTypeId.DOUBLE]: 'double',
  [DuckDBTypeId.DATE]: 'date',
  [DuckDBTypeId.TIMESTAMP_TZ]: 'timestamp',
  [DuckDBTypeId.TIMESTAMP]: 'local_timestamp',
  [DuckDBTypeId.TIMESTAMP_S]: 'local_timestamp',
  [DuckDBTypeId.TIMESTAMP_MS]: 'local_timestamp',
  [DuckDBTypeId.TIMESTAMP_NS]: 'local_timestamp',
};

/** Types whose vector holds exactly what the answer's column holds. */
const AS_STORED = new Set([
  ...[DuckDBTypeId.INTEGER, DuckDBTypeId.BIGINT, DuckDBTypeId.FLOAT, DuckDBTypeId.DOUBLE, DuckDBTypeId.DATE],
  ...[DuckDBTypeId.TIMESTAMP_TZ, DuckDBTypeId.TIMESTAMP],
]);

/** Arrays of a block. Every row that is encoded is written first, so none is cleared. */
const ARRAY_OF: Record<
  Exclude<ColumnType, 'string'>,
  { BYTES_PER_ELEMENT: number; new (buffer: ArrayBuffer): Numbers }
> = {
  bool: Uint8Array,
  int32: Int32Array,
  date: Int32Array,
  int64: BigInt64Array,
  timestamp: BigInt64Array,
  local_timestamp: BigInt64Array,
  float: Float32Array,
  double: Float64Array,
};

function arrayOf(type: Exclude<ColumnType, 'string'>, rows: number): Numbers {
  const kind = ARRAY_OF[type];
  return new kind(Buffer.allocUnsafeSlow(rows * kind.BYTES_PER_ELEMENT).buffer);
}

/** Columns by name and type; a name that comes twice gets a number, since files need different ones. */
export function resultColumns(names: readonly string[], types: readonly DuckDBType[]): ResultColumn[] {
  const taken = new Set<string>();
  return names.map((name, index) => {
    let free = name;
    for (let number = 2; taken.has(free); number++) free = `${name}_${number}`;
    taken.add(free);
    const type = types[index]!;
    return { name: free, type: TYPE_OF[type.typeId] ?? 'string', duckType: String(type) };
  });
}

/** Collects DuckDB's chunks of at most 2,048 rows into blocks that are worth encoding. */
export class BlockBuilder {
  private columns: ColumnBlock[];
  private rows = 0;
  /** Shared by columns until they meet a null. */
  private readonly allPresent: Uint8Array;

  constructor(
    private readonly header: readonly ResultColumn[],
    readonly capacity: number,
  ) {
    this.allPresent = new Uint8Array(capacity).fill(1);
    this.columns = this.fresh();
  }

  get room(): number {
    return this.capacity - this.rows;
  }

  get isEmpty(): boolean {
    return this.rows === 0;
  }

  /** Takes rows [from, from + count) of the chunk; there must be room for them. */
  take(chunk: DuckDBDataChunk, from: number, count: number): void {
    for (const [index, block] of this.columns.entries())
      this.fill(block, chunk.getColumnVector(index), { from, count, at: this.rows });
    this.rows += count;
  }

  drain(): ResultBlock {
    const block = { rows: this.rows, columns: this.columns };
    this.columns = this.fresh();
    this.rows = 0;
    return block;
  }

  private fresh(): ColumnBlock[] {
    return this.header.map((column) => ({
      column,
      numbers: column.type === 'string' ? null : arrayOf(column.type, this.capacity),
      texts: column.type === 'string' ? new TextColumn(this.capacity) : null,
      present: this.allPresent,
      nulls: 0,
    }));
  }

  private fill(block: ColumnBlock, vector: DuckDBVector, span: Span): void {
    const { numbers, texts } = block;
    this.markNulls(block, vector, span);
    if (numbers && AS_STORED.has(vector.type.typeId)) {
      const { items } = vector as unknown as RawVector;
      (numbers as Float64Array).set(items.subarray(span.from, span.from + span.count) as Float64Array, span.at);
      return;
    }
    if (texts && vector.type.typeId === DuckDBTypeId.VARCHAR) {
      copyTexts(vector, span, block.present, texts);
      return;
    }
    for (let row = 0; row < span.count; row++) {
      const value = block.present[span.at + row] === 0 ? null : vector.getItem(span.from + row);
      if (numbers) (numbers as Float64Array)[span.at + row] = numberOf(value, block.column.type) as number;
      else texts!.put(span.at + row, value === null ? '' : textOf(value, vector.type));
    }
  }

  private markNulls(block: ColumnBlock, vector: DuckDBVector, { from, count, at }: Span): void {
    const { validity } = vector as unknown as RawVector;
    if (!validity.data) return;
    // Bytes of the little-endian words: number arithmetic, many times faster than on bigints.
    const bits = new Uint8Array(validity.data.buffer, validity.data.byteOffset, validity.data.byteLength);
    for (let row = 0; row < count; row++) {
      const bit = validity.offset + from + row;
      if ((bits[bit >> 3]! >> (bit & 7)) & 1) continue;
      if (block.nulls++ === 0) block.present = new Uint8Array(this.capacity).fill(1);
      block.present[at + row] = 0;
    }
  }
}

/** What the node binding keeps private: the values as DuckDB stores them, and a bit a row (null: all are there). */
interface RawVector {
  items: { subarray(from: number, to: number): Numbers };
  validity: { data: BigUint64Array | null; offset: number };
}

/** Rows [from, from + count) of a vector, which go to `at` and on in the block. */
export interface Span {
  from: number;
  count: number;
  at: number;
}

const NOTHING: Partial<Record<ColumnType, bigint>> = { int64: 0n, timestamp: 0n, local_timestamp: 0n };

/** A value of a type that has to be converted, as its column's array takes it. */
function numberOf(value: unknown, type: ColumnType): number | bigint {
  if (value === null) return NOTHING[type] ?? 0;
  if (type === 'int64') return BigInt(value as number);
  if (type === 'local_timestamp') return microsOf(value as Record<string, bigint>);
  if (typeof value === 'object') return (value as { toDouble(): number }).toDouble();
  return Number(value);
}

function microsOf(value: Record<string, bigint | undefined>): bigint {
  if (value.seconds !== undefined) return value.seconds * 1_000_000n;
  if (value.millis !== undefined) return value.millis * 1000n;
  return (value.nanos ?? 0n) / 1000n;
}

const NESTED = new Set([
  ...[DuckDBTypeId.LIST, DuckDBTypeId.ARRAY, DuckDBTypeId.STRUCT, DuckDBTypeId.MAP, DuckDBTypeId.UNION],
]);

/** Nested values are JSON, which every reader has; others as DuckDB writes them. */
function textOf(value: DuckDBValue, type: DuckDBType): string {
  if (typeof value === 'string') return value;
  if (!NESTED.has(type.typeId)) return String(value);
  return JSON.stringify(JsonDuckDBValueConverter(value, type, JsonDuckDBValueConverter));
}
