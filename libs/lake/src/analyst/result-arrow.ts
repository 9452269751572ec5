import {
  AsyncByteQueue,
  Bool,
  type DataType,
  DateDay,
  Field,
  Float32,
  Float64,
  Int32,
  Int64,
  makeData,
  RecordBatch,
  RecordBatchStreamWriter,
  Schema,
  Struct,
  TimestampMicrosecond,
  Utf8,
} from 'apache-arrow';
import type { ColumnType } from '../tables.js';
import type { AnswerEncoder } from './answer-encoder.js';
import type { ColumnBlock, ResultBlock, ResultColumn } from './result-columns.js';

const ARROW_TYPE: Record<ColumnType, DataType> = {
  string: new Utf8(),
  bool: new Bool(),
  int32: new Int32(),
  int64: new Int64(),
  float: new Float32(),
  double: new Float64(),
  date: new DateDay(),
  timestamp: new TimestampMicrosecond('UTC'),
  local_timestamp: new TimestampMicrosecond(),
};

/** What the writer has put out since it was last asked; the library's own queue would keep the whole answer. */
class Output extends AsyncByteQueue {
  private parts: Uint8Array[] = [];

  override write(bytes: ArrayBufferView | ArrayBuffer): void {
    this.parts.push(
      ArrayBuffer.isView(bytes)
        ? new Uint8Array(bytes.buffer, bytes.byteOffset, bytes.byteLength)
        : new Uint8Array(bytes),
    );
  }

  take(): Uint8Array[] {
    const { parts } = this;
    this.parts = [];
    return parts;
  }
}

/** An Arrow IPC stream: schema, a record batch a block, end (Arrow columnar format, "IPC Streaming Format"). */
export class ArrowEncoder implements AnswerEncoder {
  private readonly output = new Output();
  private readonly writer = new RecordBatchStreamWriter({ autoDestroy: false });
  private schema = new Schema();

  start(columns: readonly ResultColumn[]): Uint8Array[] {
    this.schema = new Schema(columns.map(({ name, type }) => new Field(name, ARROW_TYPE[type], true)));
    this.writer.reset(this.output, this.schema);
    return this.output.take();
  }

  block({ rows, columns }: ResultBlock): Uint8Array[] {
    const children = columns.map((block) => columnData(block, rows));
    const struct = makeData({ type: new Struct(this.schema.fields), length: rows, nullCount: 0, children });
    this.writer.write(new RecordBatch(this.schema, struct));
    return this.output.take();
  }

  end(): Uint8Array[] {
    this.writer.finish();
    return this.output.take();
  }
}

function columnData(block: ColumnBlock, rows: number) {
  const common = {
    length: rows,
    nullCount: block.nulls,
    nullBitmap: block.nulls === 0 ? null : bitmap(block.present, rows),
  };
  if (block.texts) {
    const { texts } = block;
    return makeData({
      ...{ ...common, type: new Utf8() },
      ...{ valueOffsets: texts.offsets.subarray(0, rows + 1), data: texts.bytes(rows) },
    });
  }
  const values = block.numbers!.subarray(0, rows);
  if (block.column.type === 'bool')
    return makeData({ ...common, type: new Bool(), data: bitmap(values as Uint8Array, rows) });
  return makeData({ ...common, type: ARROW_TYPE[block.column.type] as Float64, data: values as Float64Array });
}

/** One bit a row, the lowest first. */
function bitmap(flags: Uint8Array, rows: number): Uint8Array {
  const bits = new Uint8Array(Math.ceil(rows / 8));
  for (let row = 0; row < rows; row++) if (flags[row]) bits[row >> 3]! |= 1 << (row & 7);
  return bits;
}
