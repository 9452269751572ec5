import type { LogPlan, LogReader, ReadCounts, SampleBatch } from '../log/types.js';
import { CandumpLineParser } from './candump-line.js';
import { bindingsOf, type CaptureBinding } from './capture-bindings.js';
import { CaptureDecoder } from './capture-decoder.js';
import { isCapturePlan } from './capture-plan.js';
import type { CaptureReport } from './capture-report.js';
import { createLineSplitter, type LineSink } from './line-splitter.js';

const BATCH_ROWS = 2_048;
const FIRST_ROWS_KEPT = 5;

/**
 * Frames this far apart are yielded even without a value, so that the log's first and last instant, its gaps and its
 * steps back are those of the capture, not of the planned senders alone. Well under any hold limit in use.
 */
const CLOCK_STEP_MS = 500;

export interface CandumpReader extends LogReader {
  /** What the capture says beside its samples; whole after `finish`. */
  report(): CaptureReport;
}

export interface CandumpReaderOptions {
  /** Number of the first line, 1-based, when these bytes are a later part of a log. */
  firstRow?: number;
}

export function createCandumpReader(
  plan: LogPlan,
  sink: (batch: SampleBatch) => void,
  options: CandumpReaderOptions = {},
): CandumpReader {
  return new Reader(plan, sink, options);
}

/**
 * Reads a capture that `planCandump` planned. Every line is a row of the log; those whose frame carries a value of a
 * planned signal are yielded, and the few that keep the clock (see CLOCK_STEP_MS). The signals a frame does not carry are
 * NaN, so that the hold rule joins each signal's own values. A line that is no frame is counted as `line_cut` and
 * skipped. Never throws; bytes may be cut anywhere.
 */
class Reader implements CandumpReader, LineSink {
  private readonly parser = new CandumpLineParser();
  private readonly splitter = createLineSplitter(this);
  private readonly counts: ReadCounts = {
    rows: 0,
    rowsRejectedBy: {},
    firstRows: {},
    repeatedHeaders: 0,
    unanchoredRestarts: 0,
  };
  private readonly batch: SampleBatch;
  private readonly decoder: CaptureDecoder;
  private readonly shiftMs: number;
  private readonly sideText = new Map<number, string>();
  private row: number;
  private timeMs = Number.NaN;
  private filled = false;
  /** The frame before, and whether it was yielded; the instant of the last row that was. */
  private before = { row: 0, timeMs: Number.NaN, yielded: true };
  private yieldedMs = Number.NEGATIVE_INFINITY;

  constructor(
    plan: LogPlan,
    private readonly sink: (batch: SampleBatch) => void,
    options: CandumpReaderOptions,
  ) {
    const dbc = isCapturePlan(plan) ? plan.capture.dbc : [];
    this.batch = emptyBatch(plan.signals.length);
    this.decoder = new CaptureDecoder(bindingsOf(plan), dbc, (binding, value) => this.take(binding, value));
    this.shiftMs = plan.time.kind === 'elapsed' ? (plan.time.startMs ?? 0) : 0;
    this.row = (options.firstRow ?? 1) - 1;
  }

  push(bytes: Uint8Array): void {
    this.splitter.push(bytes);
  }

  flush(): void {
    const { batch } = this;
    if (batch.rowCount > 0 || batch.unmapped.length > 0) this.sink(batch);
    for (const column of batch.values) column.fill(Number.NaN, 0, batch.rowCount);
    batch.rowCount = 0;
    batch.unmapped = [];
  }

  finish(): ReadCounts {
    this.splitter.finish();
    this.keepClock();
    this.flush();
    return this.counts;
  }

  report(): CaptureReport {
    const malformed = Object.values(this.counts.rowsRejectedBy).reduce((sum, count) => sum + count, 0);
    return { lines: this.counts.rows, malformed, ...this.decoder.report() };
  }

  line(bytes: Uint8Array, start: number, end: number): void {
    this.row++;
    this.counts.rows++;
    const frame = this.parser.parse(bytes, start, end);
    if (!frame) {
      this.reject('line_cut');
      return;
    }
    const { before } = this;
    this.timeMs = frame.timeMs + this.shiftMs;
    const step = this.timeMs - before.timeMs;
    const isJump = !(step >= 0 && step < CLOCK_STEP_MS);
    if (isJump) this.keepClock();
    this.filled = false;
    this.decoder.frame(frame);
    const yielded = this.filled || isJump || this.timeMs - this.yieldedMs >= CLOCK_STEP_MS;
    before.row = this.row;
    before.timeMs = this.timeMs;
    before.yielded = yielded;
    if (yielded) this.commit(this.row, this.timeMs);
  }

  tooLong(): void {
    this.row++;
    this.counts.rows++;
    this.reject('line_too_long');
  }

  /** A value of the frame at hand: into its column, or into the side list where it changed. */
  private take({ column, channel, scale, offset }: CaptureBinding, value: number): void {
    const { batch, row, timeMs } = this;
    if (column < 0) {
      const text = String(value);
      if (this.sideText.get(channel) !== text) batch.unmapped.push({ row, timeMs, channel, text });
      this.sideText.set(channel, text);
      return;
    }
    const values = batch.values[column];
    if (values) values[batch.rowCount] = scale === 1 && offset === 0 ? value : value * scale + offset;
    this.filled = true;
  }

  private commit(row: number, timeMs: number): void {
    const { batch } = this;
    batch.row[batch.rowCount] = row;
    batch.timeMs[batch.rowCount] = timeMs;
    batch.rowCount++;
    this.yieldedMs = timeMs;
    if (batch.rowCount === BATCH_ROWS) this.flush();
  }

  /** Yields the frame before a gap, a step back, or the end, if its values did not. */
  private keepClock(): void {
    if (!this.before.yielded) this.commit(this.before.row, this.before.timeMs);
    this.before.yielded = true;
  }

  private reject(reason: string): void {
    const { rowsRejectedBy, firstRows } = this.counts;
    rowsRejectedBy[reason] = (rowsRejectedBy[reason] ?? 0) + 1;
    const first = (firstRows[reason] ??= []);
    if (first.length < FIRST_ROWS_KEPT) first.push(this.row);
  }
}

function emptyBatch(columns: number): SampleBatch {
  return {
    rowCount: 0,
    row: new Float64Array(BATCH_ROWS),
    timeMs: new Float64Array(BATCH_ROWS),
    values: Array.from({ length: columns }, () => new Float64Array(BATCH_ROWS).fill(Number.NaN)),
    markers: [],
    unmapped: [],
    // A raw value without a meaning is no cell of its own: the report counts it by sender.
    rejectCount: 0,
    rejectRow: new Int32Array(0),
    rejectSignal: new Int32Array(0),
    rejectReason: new Uint8Array(0),
  };
}
