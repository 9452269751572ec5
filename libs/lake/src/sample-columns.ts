import { type SampleBatch, SIGNALS, type SignalId } from '@tallybay/decode';
import type { ColumnData } from './parquet/column-chunk.js';

/** Rows of one row group. 65,536 rows of 60 signals are 16 MB while they wait, and enough for good dictionaries. */
export const ROW_GROUP_ROWS = 65_536;

const COLUMN_OF = new Map<SignalId, number>(SIGNALS.map((signal, i) => [signal.id, i]));

/** Blocks of finished logs, kept for the next ones: fresh ones would be megabytes of garbage a log. */
const spareFloats: Float32Array[] = [];
const spareDoubles: Float64Array[] = [];
const SPARE_BLOCKS = 160;

/** Collects batches column-wise until a row group is full. Columns of signals that the log lacks cost nothing. */
export class SampleColumns {
  private readonly row: Float64Array;
  private readonly atMicros: Float64Array;
  private readonly columns: Float32Array[];
  private released = false;
  length = 0;

  constructor(private readonly signals: readonly SignalId[]) {
    this.row = spareDoubles.pop() ?? new Float64Array(ROW_GROUP_ROWS);
    this.atMicros = spareDoubles.pop() ?? new Float64Array(ROW_GROUP_ROWS);
    this.columns = signals.map(() => spareFloats.pop() ?? new Float32Array(ROW_GROUP_ROWS));
  }

  /** Takes rows of the batch from `from` on, as many as fit. @returns how many were taken */
  take(batch: SampleBatch, from: number): number {
    const count = Math.min(batch.rowCount - from, ROW_GROUP_ROWS - this.length);
    const { length } = this;
    this.row.set(batch.row.subarray(from, from + count), length);
    for (let i = 0; i < count; i++) this.atMicros[length + i] = Math.round(batch.timeMs[from + i]! * 1000);
    for (let s = 0; s < this.columns.length; s++) narrow(batch.values[s]!, from, count, this.columns[s]!, length);
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

  /**
   * Gives the blocks back; nothing may be taken or drained afterwards. Harmless when repeated: a log whose last files could
   * not be written is finished and then given up, and a block given back twice would be handed to two logs at once.
   */
  release(): void {
    if (this.released) return;
    this.released = true;
    if (spareDoubles.length < SPARE_BLOCKS) spareDoubles.push(this.row, this.atMicros);
    for (const column of this.columns.splice(0)) if (spareFloats.length < SPARE_BLOCKS) spareFloats.push(column);
  }
}

/** A plain loop: measured, `Float32Array.set` from doubles is several times slower. */
function narrow(source: Float64Array, from: number, count: number, target: Float32Array, at: number): void {
  for (let i = 0; i < count; i++) target[at + i] = source[from + i]!;
}
