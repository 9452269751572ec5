import type { LogPlan, LogReader, ReadCounts, SampleBatch } from '../log/types.js';
import { createLineParser } from './candump-line.js';
import { bindingsOf } from './capture-bindings.js';
import { createCaptureDecoder } from './capture-decoder.js';
import { isCapturePlan } from './capture-plan.js';
import type { CaptureReport } from './capture-report.js';
import { createLineSplitter } from './line-splitter.js';

const BATCH_ROWS = 2_048;
const FIRST_ROWS_KEPT = 5;

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
 * planned signal are yielded, the signals the frame does not carry are NaN, so that the hold rule joins each signal's
 * own values. A line that is no frame is counted as `line_cut` and skipped. Never throws; bytes may be cut anywhere.
 */
export function createCandumpReader(
  plan: LogPlan,
  sink: (batch: SampleBatch) => void,
  options: CandumpReaderOptions = {},
): CandumpReader {
  const parse = createLineParser();
  const counts: ReadCounts = { rows: 0, rowsRejectedBy: {}, firstRows: {}, repeatedHeaders: 0, unanchoredRestarts: 0 };
  const batch = emptyBatch(plan.signals.length);
  const sideText = new Map<number, string>();
  const shiftMs = plan.time.kind === 'elapsed' ? (plan.time.startMs ?? 0) : 0;
  let row = (options.firstRow ?? 1) - 1;
  let timeMs = 0;
  let filled = false;

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

  const line = (bytes: Uint8Array, start: number, end: number): void => {
    row++;
    counts.rows++;
    const frame = parse(bytes, start, end);
    if (!frame) {
      reject('line_cut');
      return;
    }
    timeMs = frame.timeMs + shiftMs;
    filled = false;
    decoder.frame(frame);
    if (!filled) return;
    batch.row[batch.rowCount] = row;
    batch.timeMs[batch.rowCount] = timeMs;
    batch.rowCount++;
    if (batch.rowCount === BATCH_ROWS) flush();
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
