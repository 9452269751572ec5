import type { SignalId } from '../signals/catalogue.js';

/** How the bytes of a delimited text log are cut into rows and cells. */
export interface CsvDialect {
  encoding: 'utf-8' | 'windows-1252' | 'utf-16le' | 'utf-16be';
  /** Bytes of a byte order mark at the very start of the log. */
  bomBytes: number;
  delimiter: ',' | ';' | '\t' | '|';
  decimal: '.' | ',';
  /** 1-based file line of the header; lines before it are a preamble, kept in `LogPlan.preamble`. */
  headerLine: number;
  /** 1-based file line of a row of units under the header, or null. */
  unitLine: number | null;
  /** The header line as text, so that a repeat of it in mid-file is recognised. */
  headerText: string;
  /** The unit row as text, for the same reason. */
  unitText?: string;
  /** Other lines between the header and the first row of values, as text. */
  headingTexts?: string[];
  /** `cr` when only carriage returns end the lines; absent = LF or CRLF. */
  lineBreak?: 'cr';
}

/** One column as the recorder named it, and what it means. Index in `LogPlan.channels` = column in the row. */
export interface ChannelPlan {
  header: string;
  sourceUnit: string | null;
  /** `time` columns feed the clock, `marker` columns become markers, `signal` columns values, `unmapped` are kept aside. */
  role: 'time' | 'signal' | 'marker' | 'unmapped';
  signal: SignalId | null;
  /** canonical = source * scale + offset */
  scale: number;
  offset: number;
  /** 0..1, how sure the mapping is; 1 for a saved profile. */
  confidence: number;
  why: string;
  /** In a table with decimal commas: points in this column group thousands. Absent = they are decimal points. */
  groupedByPoint?: true;
}

/** How a row's time is read. `columns` index into `LogPlan.channels`. */
export interface TimePlan {
  kind: 'absolute' | 'local' | 'clock' | 'elapsed';
  columns: number[];
  /** Token of a closed table of time formats, e.g. `iso`, `dmy`, `mdy-12h`, `epoch-s`, `epoch-ms`, `clock`, `elapsed-s`. */
  format: string;
  /** A column with the part of the time below a second, when the others stop there. */
  fraction?: { column: number; perUnitMs: number };
  /** Digits before the mark to which each of `columns` is filled up with the leading zeros that it lost; 0 = as it is. */
  fill?: number[];
  /** IANA zone for local and clock times; null = unknown (the upload waits). */
  timeZone: string | null;
  /** Local date `YYYY-MM-DD` of the first row for clock-only times; null = unknown. */
  startDate: string | null;
  /** UTC instant of the first row when the sender or the log said so; for `elapsed` the instant of elapsed 0. */
  startMs: number | null;
  /** Wall time of elapsed 0 as the log or its name says it, `YYYY-MM-DDTHH:MM:SS.mmm`, while its zone is unknown. */
  startLocal?: string;
  /** The first row of the head on the log's own clock (milliseconds), so that a start given later can anchor it. */
  firstMs?: number;
}

/** Everything needed to read any part of one log. Plain JSON: it travels with each chunk. */
export interface LogPlan {
  version: 1;
  format: 'csv' | 'candump';
  dialect: CsvDialect | null;
  channels: ChannelPlan[];
  time: TimePlan;
  /** Signals in column order of the batches this plan yields. */
  signals: SignalId[];
  /** Lines before the header, at most 200, as `key` and `value` where they have that shape. */
  preamble: { line: number; text: string; key?: string; value?: string }[];
  /** A 17-character VIN found in the log (preamble or column), well-formed only. */
  vin: string | null;
  recorder: string | null;
  decisions: { what: string; value: string; why: string }[];
}

/** What is known beside the bytes. Nothing here is guessed; a profile overrides detection. */
export interface PlanHints {
  fileName?: string;
  recordedAtMs?: number;
  timeZone?: string;
  profile?: {
    timeZone?: string;
    delimiter?: CsvDialect['delimiter'];
    decimal?: CsvDialect['decimal'];
    dateOrder?: 'ymd' | 'dmy' | 'mdy';
    channels?: Record<string, { signal: string | null; unit?: string }>;
    /** Text of a DBC file, for raw CAN captures. */
    dbc?: string;
  };
  /** Multiply recorded vehicle speed by this (tyre or final drive changed); 1 or absent = as recorded. */
  speedFactor?: number;
}

export type PlanProblemCode =
  | 'body_empty'
  | 'body_not_text'
  | 'log_unreadable'
  | 'log_no_time'
  | 'log_no_rows'
  | 'log_too_many_columns'
  | 'log_cell_too_long';

export interface PlanProblem {
  code: PlanProblemCode;
  detail: string;
  advice: string;
  row?: number;
  column?: string;
}

export type PlanResult = { ok: true; plan: LogPlan } | { ok: false; problem: PlanProblem };

/** What is missing before the log's rows have UTC instants: the upload then waits for a person. */
export type TimeNeed = 'time_missing' | 'zone_missing' | null;

/**
 * Up to `BATCH_ROWS` rows, column-wise. The arrays are reused by the reader: copy what must outlive the callback.
 * `values[s][r]` is signal `plan.signals[s]` in canonical unit, NaN where the row has none.
 */
export interface SampleBatch {
  rowCount: number;
  /** 1-based data row number in the file (header, preamble and unit rows not counted). */
  row: Float64Array;
  /** UTC epoch milliseconds (fraction kept); for a log whose time is not yet known, milliseconds on the log's own clock. */
  timeMs: Float64Array;
  values: Float64Array[];
  markers: { row: number; timeMs: number; text: string }[];
  /** Cells of unmapped channels, only where they differ from the row before: row, channel index, text ('' = blank). */
  unmapped: { row: number; timeMs: number; channel: number; text: string }[];
  /**
   * Cells that are NaN for another reason than being blank, in row order: batch row, index into `values`, and reason
   * (an index into `CELL_REJECTS`). Only the first `rejectCount` entries count.
   */
  rejectCount: number;
  rejectRow: Int32Array;
  rejectSignal: Int32Array;
  rejectReason: Uint8Array;
}

/** Counts of what was rejected while reading; keys are closed lists, see `log/rejects.ts`. */
export interface ReadCounts {
  /** Rows that hold data, good or bad; repeated headers and blank lines are not rows. */
  rows: number;
  rowsRejectedBy: Record<string, number>;
  /** First rows of each kind of reject, for messages: reason -> row numbers, at most 5. */
  firstRows: Record<string, number[]>;
  /** Headers found again in mid-file, and how often the elapsed clock fell back behind one without a new start. */
  repeatedHeaders: number;
  unanchoredRestarts: number;
}

/** What the caller knows and the bytes cannot say. */
export interface ReadLimits {
  /** Now, so that dates in the future are refused; absent = not checked. */
  nowMs?: number;
}

/** Reads one log's bytes in file order; calls split anywhere. Pure, no I/O. */
export interface LogReader {
  push(bytes: Uint8Array): void;
  /** Hands out the rows read so far as a batch of their own; results do not depend on it. */
  flush(): void;
  /** Ends the last row (a row without a line break counts as cut if it is short) and flushes. */
  finish(): ReadCounts;
}

export interface SignalStats {
  signal: SignalId;
  header: string;
  sourceUnit: string | null;
  confidence: number;
  valid: number;
  blank: number;
  min: number | null;
  minAtMs: number | null;
  max: number | null;
  maxAtMs: number | null;
  first: number | null;
  last: number | null;
  /** Time integral of the value / seconds, by the hold rule; null without a counted second. */
  mean: number | null;
  seconds: number;
  /** Left out of durations: reason (`out_of_range`, `unreadable`, `jump`, `stuck`) -> values. */
  rejected: Record<string, number>;
  /** Seconds during which the value stood still past the catalogue's limit while the engine worked. */
  stuckSeconds: number;
  /** Exact seconds at or above each asked stage, by the hold rule; keys as asked. */
  secondsAtOrAbove: Record<string, number>;
}

/**
 * A stretch of a log: engine running (`drive` = 1, 2, …) or not (`drive` = null). Segments alternate and cover the log;
 * a gap over the limit also ends one.
 */
export interface Segment {
  segment: number;
  drive: number | null;
  startMs: number;
  endMs: number;
  /** Seconds counted by the hold rule. */
  seconds: number;
  /** From the odometer if it moved, else from speed by the hold rule, else null. */
  distanceKm: number | null;
  distanceSource: 'odometer' | 'speed' | null;
  fuelL: number | null;
  rows: number;
  /** Per signal of the plan, the same figures as for the whole log. */
  stats: SignalStats[];
}

/**
 * Seconds by value bin. Bins are [low, high); temperature edges stand at every half degree Celsius and at every whole
 * degree Fahrenheit, so a stage written in either unit is an edge.
 */
export interface DwellRow {
  segment: number;
  drive: number | null;
  signal: SignalId;
  low: number;
  high: number;
  seconds: number;
  /** Integral of value over those seconds, so degree-seconds above T >= low edge = valueSeconds - T * seconds. */
  valueSeconds: number;
  min: number;
  max: number;
}

/** All that one log amounts to, beside its samples. */
export interface LogSummary {
  rows: number;
  rowsKept: number;
  rowsRejectedBy: Record<string, number>;
  valuesRejectedBy: Record<string, number>;
  firstMs: number | null;
  lastMs: number | null;
  gaps: number;
  longestGapSeconds: number;
  backwardSteps: number;
  duplicateTimes: number;
  countedSeconds: number;
  signals: SignalStats[];
  segments: Segment[];
  dwell: DwellRow[];
  markers: { row: number; timeMs: number; text: string }[];
}

export interface AccumulatorOptions {
  /** A step counts if 0 < dt <= this. Default 5. */
  holdSeconds?: number;
  /** Exact stages to count, e.g. `{coolant_temp_c: ['95', '100']}`; keys of the answer are the given strings. */
  stages?: Partial<Record<SignalId, string[]>>;
}

/** Turns batches, in order, into a summary. Same result for any batch cut. */
export interface LogAccumulator {
  add(batch: SampleBatch): void;
  finish(counts: ReadCounts): LogSummary;
}
