import type { SampleBatch } from './types.js';

/** Rows of one batch. One batch is reused; 2,048 rows is also the vector length of the lake's writer. */
export const BATCH_ROWS = 2048;

/**
 * Columns lie one cache line more than a power of two apart: a row writes to all of them, and at equal addresses modulo
 * 4 KiB they would push each other out of the cache.
 */
const STRIDE = BATCH_ROWS + 8;

/** The one batch of a reader, filled row by row and handed to the sink when full. */
export class BatchBuilder implements SampleBatch {
  rowCount = 0;
  readonly row = new Float64Array(BATCH_ROWS);
  readonly timeMs = new Float64Array(BATCH_ROWS);
  readonly values: Float64Array[];
  markers: SampleBatch['markers'] = [];
  unmapped: SampleBatch['unmapped'] = [];
  rejectCount = 0;
  rejectRow = new Int32Array(1024);
  rejectSignal = new Int32Array(1024);
  rejectReason = new Uint8Array(1024);

  constructor(
    signals: number,
    private readonly sink: (batch: SampleBatch) => void,
  ) {
    const pool = new Float64Array(signals * STRIDE);
    this.values = Array.from({ length: signals }, (_, at) => pool.subarray(at * STRIDE, at * STRIDE + BATCH_ROWS));
  }

  /** Notes why the cell of the row being read has no value. */
  reject(signal: number, reason: number): void {
    if (this.rejectCount === this.rejectRow.length) this.grow();
    this.rejectRow[this.rejectCount] = this.rowCount;
    this.rejectSignal[this.rejectCount] = signal;
    this.rejectReason[this.rejectCount++] = reason;
  }

  /** Keeps the row being read. */
  commit(row: number, timeMs: number): void {
    this.row[this.rowCount] = row;
    this.timeMs[this.rowCount] = timeMs;
    if (++this.rowCount === BATCH_ROWS) this.flush();
  }

  flush(): void {
    if (this.rowCount === 0) return;
    this.sink(this);
    this.rowCount = 0;
    this.rejectCount = 0;
    this.markers = [];
    this.unmapped = [];
  }

  private grow(): void {
    const size = this.rejectRow.length * 2;
    const wider = <T extends Int32Array | Uint8Array>(into: T, from: T): T => {
      into.set(from);
      return into;
    };
    this.rejectRow = wider(new Int32Array(size), this.rejectRow);
    this.rejectSignal = wider(new Int32Array(size), this.rejectSignal);
    this.rejectReason = wider(new Uint8Array(size), this.rejectReason);
  }
}
