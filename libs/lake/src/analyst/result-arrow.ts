import { type FlatTable, flatBuffer, flatTable } from '../arrow/flat-buffer.js';
import type { ColumnType } from '../tables.js';
import type { AnswerEncoder } from './answer-encoder.js';
import type { ColumnBlock, ResultBlock, ResultColumn } from './result-columns.js';

// Numbers of Arrow's Schema.fbs and Message.fbs (format 1.x, metadata version 5).
const METADATA_V5 = 4;
const HEADER = { schema: 1, recordBatch: 3 } as const;
const CONTINUATION = Uint8Array.of(0xff, 0xff, 0xff, 0xff);
const END_OF_STREAM = Uint8Array.of(0xff, 0xff, 0xff, 0xff, 0, 0, 0, 0);
const MICROSECOND = 2;

const int = (bits: number): FlatTable => flatTable([0, { i32: bits }], [1, { u8: 1 }]);

/** `Type` of the union and its table. A date's unit is written although it is 0: the default is milliseconds. */
const ARROW_TYPE: Record<ColumnType, { id: number; table: FlatTable }> = {
  string: { id: 5, table: flatTable() },
  bool: { id: 6, table: flatTable() },
  int32: { id: 2, table: int(32) },
  int64: { id: 2, table: int(64) },
  float: { id: 3, table: flatTable([0, { i16: 1 }]) },
  double: { id: 3, table: flatTable([0, { i16: 2 }]) },
  date: { id: 8, table: flatTable([0, { i16: 0 }]) },
  timestamp: { id: 10, table: flatTable([0, { i16: MICROSECOND }], [1, { text: 'UTC' }]) },
  local_timestamp: { id: 10, table: flatTable([0, { i16: MICROSECOND }]) },
};

/** An Arrow IPC stream: schema, a record batch a block, end (Arrow columnar format, "IPC Streaming Format"). */
export class ArrowEncoder implements AnswerEncoder {
  start(columns: readonly ResultColumn[]): Uint8Array[] {
    const fields = columns.map(({ name, type }) =>
      flatTable(
        [0, { text: name }],
        [1, { u8: 1 }],
        [2, { u8: ARROW_TYPE[type].id }],
        [3, { table: ARROW_TYPE[type].table }],
        [5, { tables: [] }],
      ),
    );
    return message(HEADER.schema, flatTable([0, { i16: 0 }], [1, { tables: fields }]), []);
  }

  block({ rows, columns }: ResultBlock): Uint8Array[] {
    const body: Uint8Array[] = [];
    const buffers: [number, number][] = [];
    let offset = 0;
    const add = (bytes: Uint8Array) => {
      buffers.push([offset, bytes.length]);
      body.push(bytes, PADDING[bytes.length % 8]!);
      offset += bytes.length + PADDING[bytes.length % 8]!.length;
    };
    for (const block of columns) {
      add(block.nulls === 0 ? EMPTY : bitmap(block.present, rows));
      for (const bytes of valueBuffers(block, rows)) add(bytes);
    }
    const nodes = columns.map(({ nulls }): [number, number] => [rows, nulls]);
    return message(
      HEADER.recordBatch,
      flatTable([0, { i64: rows }], [1, { pairs: nodes }], [2, { pairs: buffers }]),
      body,
    );
  }

  end(): Uint8Array[] {
    return [END_OF_STREAM];
  }
}

const EMPTY = new Uint8Array(0);
/** What brings a length up to a multiple of 8, by its remainder. */
const PADDING = Array.from({ length: 8 }, (_, rest) => new Uint8Array((8 - rest) % 8));

function message(header: number, table: FlatTable, body: Uint8Array[]): Uint8Array[] {
  const bodyLength = body.reduce((sum, part) => sum + part.length, 0);
  const metadata = flatBuffer(
    flatTable([0, { i16: METADATA_V5 }], [1, { u8: header }], [2, { table }], [3, { i64: bodyLength }]),
  );
  const length = new Uint8Array(4);
  new DataView(length.buffer).setInt32(0, metadata.length, true);
  return [CONTINUATION, length, metadata, ...body];
}

/** One bit a row, the lowest first. */
function bitmap(flags: Uint8Array, rows: number): Uint8Array {
  const bits = new Uint8Array(Math.ceil(rows / 8));
  for (let row = 0; row < rows; row++) if (flags[row]) bits[row >> 3]! |= 1 << (row & 7);
  return bits;
}

function valueBuffers(block: ColumnBlock, rows: number): Uint8Array[] {
  if (block.texts) return textBuffers(block.texts, rows);
  const values = block.numbers!.subarray(0, rows);
  if (block.column.type === 'bool') return [bitmap(values as Uint8Array, rows)];
  return [new Uint8Array(values.buffer, values.byteOffset, values.byteLength)];
}

function textBuffers(texts: readonly (string | null)[], rows: number): Uint8Array[] {
  const bytes = Buffer.from(texts.map((text) => text ?? '').join(''), 'utf8');
  const offsets = new Int32Array(rows + 1);
  let at = 0;
  for (let row = 0; row < rows; row++) {
    at += Buffer.byteLength(texts[row] ?? '', 'utf8');
    offsets[row + 1] = at;
  }
  return [new Uint8Array(offsets.buffer), bytes];
}
