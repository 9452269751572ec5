import type { ColumnData } from '../parquet/column-chunk.js';
import { ParquetFileWriter } from '../parquet/file-writer.js';
import type { AnswerEncoder } from './answer-encoder.js';
import type { ColumnBlock, ResultBlock, ResultColumn } from './result-columns.js';
import type { TextColumn } from './text-column.js';

/** A Parquet file, a row group a block; `tallybay.truncated` in its metadata says whether rows were cut off. */
export class ParquetEncoder implements AnswerEncoder {
  private writer: ParquetFileWriter | null = null;
  private parts: Uint8Array[] = [];

  start(columns: readonly ResultColumn[]): Uint8Array[] {
    const described = columns.map(({ name, type }) => ({ name, type, comment: '' }));
    this.writer = new ParquetFileWriter(described, (bytes) => this.parts.push(bytes.slice()));
    return this.taken();
  }

  block({ rows, columns }: ResultBlock): Uint8Array[] {
    this.writer!.writeRowGroup(
      columns.map((block) => columnData(block, rows)),
      rows,
    );
    return this.taken();
  }

  end({ truncated }: { truncated: boolean }): Uint8Array[] {
    this.writer!.close({ 'tallybay.truncated': String(truncated) });
    return this.taken();
  }

  private taken(): Uint8Array[] {
    const { parts } = this;
    this.parts = [];
    return parts;
  }
}

function columnData(block: ColumnBlock, rows: number): ColumnData {
  if (block.nulls === rows) return { kind: 'nulls' };
  if (block.texts) return { kind: 'list', values: texts(block, block.texts, rows) };
  if (block.column.type === 'bool') return { kind: 'list', values: booleans(block, rows) };
  const values = block.nulls === 0 ? block.numbers!.subarray(0, rows) : presentOnly(block, rows);
  return {
    kind: 'plain',
    bytes: new Uint8Array(values.buffer, values.byteOffset, values.byteLength),
    present: block.nulls === 0 ? null : block.present,
  };
}

const texts = ({ present }: ColumnBlock, column: TextColumn, rows: number): (string | null)[] =>
  Array.from({ length: rows }, (_, row) => (present[row] === 0 ? null : column.text(row)));

const booleans = (block: ColumnBlock, rows: number): (boolean | null)[] =>
  Array.from({ length: rows }, (_, row) => (block.present[row] === 0 ? null : block.numbers![row] !== 0));

/** PLAIN pages hold no place for nulls (Apache Parquet, "Data pages"). */
function presentOnly(block: ColumnBlock, rows: number) {
  const kept = block.numbers!.slice(0, rows - block.nulls) as Float64Array;
  let at = 0;
  for (let row = 0; row < rows; row++) if (block.present[row] === 1) kept[at++] = (block.numbers as Float64Array)[row]!;
  return kept;
}
