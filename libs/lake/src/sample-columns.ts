import { type SampleBatch, SIGNALS, type SignalId } from '@tallybay/decode';
import type { ColumnData } from './parquet/column-chunk.js';

/** Rows of one row group. 65,536 rows of 60 signals are 16 MB while they wait, and enough for good dictionaries. */
export const ROW_GROUP_ROWS = 65_536;

const COLUMN_OF = new Map<SignalId, number>(SIGNALS.map((signal, i) => [signal.id, i]));

/** Collects batches column-wise until a row group is full. Columns of signals that the log lacks cost nothing. */
export class SampleColumns {
  private capacity = 0;
  private row = new Float64Array(0);
  private atMicros = new Float64Array(0);
  private columns: Float32Array[];
  length = 0;

  constructor(private readonly signals: readonly SignalId[]) {
    this.columns = signals.map(() => new Float32Array(0));
  }

  /** Takes rows of the batch from `from` on, as many as fit. @returns how many were taken */
  take(batch: SampleBatch, from: number): number {
    const count = Math.min(batch.rowCount - from, ROW_GROUP_ROWS - this.length);
    this.reserve(this.length + count);
    const { length } = this;
    this.row.set(batch.row.subarray(from, from + count), length);
    for (let i = 0; i < count; i++) this.atMicros[length + i] = Math.round(batch.timeMs[from + i]! * 1000);
    for (let s = 0; s < this.columns.length; s++)
      this.columns[s]!.set(batch.values[s]!.subarray(from, from + count), length);
    this.length += count;
    return count;
  }

  get full(): boolean {
    return this.length === ROW_GROUP_ROWS;
  }

  /** The columns in the order of the `samples` table, and empties itself. The data is valid until the next `take`. */
  drain(vehicleId: string, uploadId: string): { data: ColumnData[]; rowCount: number } {
    const rowCount = this.length;
    const data: ColumnData[] = [
      { kind: 'constant', text: vehicleId },
      { kind: 'constant', text: uploadId },
      { kind: 'integers', values: this.row },
      { kind: 'integers', values: this.atMicros },
      ...SIGNALS.map((): ColumnData => ({ kind: 'nulls' })),
    ];
    for (const [s, signal] of this.signals.entries())
      data[4 + COLUMN_OF.get(signal)!] = { kind: 'floats', values: this.columns[s]! };
    this.length = 0;
    return { data, rowCount };
  }

  private reserve(rows: number): void {
    if (rows <= this.capacity) return;
    const capacity = Math.min(ROW_GROUP_ROWS, Math.max(rows, this.capacity * 2, 4096));
    const grow = <A extends Float64Array | Float32Array>(old: A, fresh: A): A => {
      fresh.set(old);
      return fresh;
    };
    this.row = grow(this.row, new Float64Array(capacity));
    this.atMicros = grow(this.atMicros, new Float64Array(capacity));
    this.columns = this.columns.map((column) => grow(column, new Float32Array(capacity)));
    this.capacity = capacity;
  }
}
