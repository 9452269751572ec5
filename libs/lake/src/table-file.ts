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

/** Opens a file for a Parquet writer: collects small parts so that a row group costs few system calls. */
export class FileSink {
  private readonly descriptor: number;
  private pending: Uint8Array[] = [];
  private pendingBytes = 0;
  private closed = false;

  constructor(file: string) {
    mkdirSync(dirname(file), { recursive: true });
    this.descriptor = openSync(file, 'w');
  }

  readonly write = (bytes: Uint8Array): void => {
    // Parts may be views of scratch space that the encoder reuses, so they are copied while they wait.
    this.pending.push(bytes.slice());
    this.pendingBytes += bytes.length;
    if (this.pendingBytes > 1 << 20) this.flush();
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
    closeSync(this.descriptor);
  }

  private flush(): void {
    const block = Buffer.concat(this.pending, this.pendingBytes);
    this.pending = [];
    this.pendingBytes = 0;
    let at = 0;
    while (at < block.length) at += writeSync(this.descriptor, block, at, block.length - at);
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
