import type { LogPlan, LogReader, ReadCounts, SampleBatch } from '../log/types.js';
import { CandumpLineParser } from './candump-line.js';
import { bindingsOf } from './capture-bindings.js';
import { createCaptureDecoder } from './capture-decoder.js';
import { isCapturePlan } from './capture-plan.js';
import type { CaptureReport } from './capture-report.js';
import { createLineSplitter } from './line-splitter.js';

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

/**
 * Reads a capture that `planCandump` planned. Every line is a row of the log; those whose frame carries a value of a
 * planned signal are yielded, and the few that keep the clock (see CLOCK_STEP_MS). The signals a frame does not carry are
 * NaN, so that the hold rule joins each signal's own values. A line that is no frame is counted as `line_cut` and skipped. Never throws; bytes may be cut anywhere.
 */
export function createCandumpReader(
  plan: LogPlan,
  sink: (batch: SampleBatch) => void,
  options: CandumpReaderOptions = {},
): CandumpReader {
  const parser = new CandumpLineParser();
  const counts: ReadCounts = { rows: 0, rowsRejectedBy: {}, firstRows: {}, repeatedHeaders: 0, unanchoredRestarts: 0 };
  const batch = emptyBatch(plan.signals.length);
  const sideText = new Map<number, string>();
  const shiftMs = plan.time.kind === 'elapsed' ? (plan.time.startMs ?? 0) : 0;
  let row = (options.firstRow ?? 1) - 1;
  let timeMs = Number.NaN;
  let filled = false;
  // The frame before, and whether it was yielded; the instant of the last row that was.
  let before = { row: 0, timeMs: Number.NaN, yielded: true };
  let yieldedMs = Number.NEGATIVE_INFINITY;

  const flush = (): void => {
    if (batch.rowCount > 0 || batch.unmapped.length > 0) sink(batch);
    for (const column of batch.values) column.fill(Number.NaN, 0, batch.rowCount);
    batch.rowCount = 0;
    batch.unmapped = [];
  };

  const decoder = createCaptureDecoder(
    bindingsOf(plan),
    isCapturePlan(plan) ? plan.capture.dbc : [],
    ({ column, channel, scale, offset }, value) => {
      if (column < 0) {
        const text = String(value);
        if (sideText.get(channel) !== text) batch.unmapped.push({ row, timeMs, channel, text });
        sideText.set(channel, text);
        return;
      }
      const values = batch.values[column];
      if (values) values[batch.rowCount] = scale === 1 && offset === 0 ? value : value * scale + offset;
      filled = true;
    },
  );

  const reject = (reason: string): void => {
    counts.rowsRejectedBy[reason] = (counts.rowsRejectedBy[reason] ?? 0) + 1;
    const first = (counts.firstRows[reason] ??= []);
    if (first.length < FIRST_ROWS_KEPT) first.push(row);
  };

  const commit = (lineRow: number, lineMs: number): void => {
    batch.row[batch.rowCount] = lineRow;
    batch.timeMs[batch.rowCount] = lineMs;
    batch.rowCount++;
    yieldedMs = lineMs;
    if (batch.rowCount === BATCH_ROWS) flush();
  };

  /** Yields the frame before a gap, a step back, or the end, if its values did not. */
  const keepClock = (): void => {
    if (!before.yielded) commit(before.row, before.timeMs);
    before.yielded = true;
  };

  const line = (bytes: Uint8Array, start: number, end: number): void => {
    row++;
    counts.rows++;
    const frame = parser.parse(bytes, start, end);
    if (!frame) {
      reject('line_cut');
      return;
    }
    timeMs = frame.timeMs + shiftMs;
    const isJump = !(Math.abs(timeMs - before.timeMs) < CLOCK_STEP_MS) || timeMs < before.timeMs;
    if (isJump) keepClock();
    filled = false;
    decoder.frame(frame);
    const yielded = filled || isJump || timeMs - yieldedMs >= CLOCK_STEP_MS;
    if (yielded) commit(row, timeMs);
    before = { row, timeMs, yielded };
  };

  const splitter = createLineSplitter({
    line,
    tooLong() {
      row++;
      counts.rows++;
      reject('line_too_long');
    },
  });

  return {
    push: splitter.push,
    flush,
    finish() {
      splitter.finish();
      keepClock();
      flush();
      return counts;
    },
    report: () => ({
      lines: counts.rows,
      malformed: Object.values(counts.rowsRejectedBy).reduce((sum, count) => sum + count, 0),
      ...decoder.report(),
    }),
  };
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
