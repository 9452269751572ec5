import { closeSync, mkdirSync, openSync, writeSync } from 'node:fs';
import { dirname } from 'node:path';
import type { ColumnData } from './parquet/column-chunk.js';
import { ParquetFileWriter } from './parquet/file-writer.js';
import { type ColumnRow, LAKE_TABLES, type LakeTable } from './tables.js';

/** A row of a lake table by column name; missing and null are null; timestamps are epoch ms. */
export type TableRow<T extends LakeTable> = {
  [C in (typeof LAKE_TABLES)[T][number]['name']]?: string | number | boolean | null;
};

type AnyRow = Readonly<Record<string, string | number | boolean | null | undefined>>;

/** Bytes that wait before they are written: a row group then costs few system calls. */
const BLOCK_BYTES = 1 << 20;

/** Blocks of closed files, kept for the next ones. */
const spareBlocks: Uint8Array[] = [];
const MAX_SPARE_BLOCKS = 4;

/** A file that a Parquet writer writes to, part by part. */
export class FileSink {
  private readonly descriptor: number;
  private readonly block: Uint8Array = spareBlocks.pop() ?? new Uint8Array(BLOCK_BYTES);
  private waiting = 0;
  private closed = false;

  constructor(file: string) {
    mkdirSync(dirname(file), { recursive: true });
    this.descriptor = openSync(file, 'w');
  }

  /** Parts may be views of scratch space that the encoder reuses, so what waits is copied. */
  readonly write = (bytes: Uint8Array): void => {
    if (this.waiting + bytes.length > BLOCK_BYTES) this.flush();
    if (bytes.length > BLOCK_BYTES) this.writeFully(bytes, bytes.length);
    else {
      this.block.set(bytes, this.waiting);
      this.waiting += bytes.length;
    }
  };

  close(): void {
    try {
      if (!this.closed) this.flush();
    } finally {
      this.discard();
    }
  }

  /** Closes without writing what waits: the file is given up, perhaps because it cannot be written. */
  discard(): void {
    if (this.closed) return;
    this.closed = true;
    if (spareBlocks.length < MAX_SPARE_BLOCKS) spareBlocks.push(this.block);
    closeSync(this.descriptor);
  }

  private flush(): void {
    this.writeFully(this.block, this.waiting);
    this.waiting = 0;
  }

  private writeFully(bytes: Uint8Array, length: number): void {
    let at = 0;
    while (at < length) at += writeSync(this.descriptor, bytes, at, length - at);
  }
}

/** Rows of one row group: what waits in memory while a table is written. */
const GROUP_ROWS = 20_000;

/** Writes a table file from rows as they come, a row group at a time; without rows it is an empty table. */
export function writeTableFile<T extends LakeTable>(
  file: string,
  table: T,
  rows: Iterable<TableRow<T>>,
  metadata: Record<string, string> = {},
): void {
  writeRowsFile(file, LAKE_TABLES[table], rows, metadata);
}

/** As `writeTableFile`, for any columns. */
export function writeRowsFile(
  file: string,
  columns: readonly ColumnRow[],
  rows: Iterable<AnyRow>,
  metadata: Record<string, string> = {},
): void {
  const sink = new FileSink(file);
  try {
    const writer = new ParquetFileWriter(columns, sink.write);
    let group: AnyRow[] = [];
    for (const row of rows) {
      group.push(row);
      if (group.length < GROUP_ROWS) continue;
      writer.writeRowGroup(dataOf(columns, group), group.length);
      group = [];
    }
    writer.writeRowGroup(dataOf(columns, group), group.length);
    writer.close(metadata);
  } finally {
    sink.close();
  }
}

/** Rows turned into the table's columns. */
export const columnsOf = <T extends LakeTable>(table: T, rows: readonly TableRow<T>[]): ColumnData[] =>
  dataOf(LAKE_TABLES[table], rows);

function dataOf(columns: readonly ColumnRow[], rows: readonly AnyRow[]): ColumnData[] {
  return columns.map((column): ColumnData => {
    const values = rows.map((row) => row[column.name]);
    return values.every((value) => value === null || value === undefined)
      ? { kind: 'nulls' }
      : { kind: 'list', values };
  });
}
