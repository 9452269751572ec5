import { CSV_LIMITS } from '../csv/limits.js';
import { signalRow } from '../signals/catalogue.js';
import { snap } from '../units/convert.js';
import { BatchBuilder } from './batch-builder.js';
import { isBlankCell, numberFromBytes, POWERS_OF_TEN } from './number-cells.js';
import { type OddLine, OddLines } from './odd-lines.js';
import { AHEAD_MS, EARLIEST_MS, type RowReject } from './rejects.js';
import { RowClock } from './row-clock.js';
import { TextCells } from './text-cells.js';
import type { LogPlan, ReadCounts, ReadLimits, SampleBatch } from './types.js';
import { WrittenCells } from './written-cells.js';

const [NUL, LF, CR, QUOTE, COMMA, MINUS, DOT] = [0, 10, 13, 34, 44, 45, 46] as const;
const TEXT = 0;
const SIGNAL = 1;
/** A signal whose points group thousands: none of its cells is plain digits. */
const GROUPED = 2;
const UNREADABLE = 0;
const OUT_OF_RANGE = 1;
/** Digits whose integer fits 32 bits: 999,999,999. */
const EXACT_DIGITS = 9;

/**
 * Bytes of whole lines to rows. The one hot loop of the library: it reads numbers digit by digit out of the bytes and
 * makes no text for them. Every line it is given ends in a line break, so no byte needs a bounds check; only quoted
 * cells may run past the end, and then the row waits for more.
 */
export class RowLoop {
  readonly batch: BatchBuilder;
  readonly counts: ReadCounts = {
    rows: 0,
    rowsRejectedBy: {},
    firstRows: {},
    repeatedHeaders: 0,
    unanchoredRestarts: 0,
  };
  private readonly width: number;
  private readonly delimiter: number;
  private readonly decimal: number;
  private readonly comma: boolean;
  private readonly kind: Uint8Array;
  private readonly slot: Int32Array;
  private readonly scale: Float64Array;
  private readonly offset: Float64Array;
  private readonly min: Float64Array;
  private readonly max: Float64Array;
  private readonly isConverted: Uint8Array;
  private readonly columns: Float64Array[];
  readonly starts: Int32Array;
  readonly ends: Int32Array;
  private readonly clock: RowClock;
  private readonly texts: TextCells;
  private readonly written: WrittenCells;
  private readonly odd: OddLines;
  private readonly latestMs: number;
  private readonly isDated: boolean;
  private isForeign = false;
  private afterHeader = false;
  private lastOwnMs = Number.NaN;
  private extraFilled = false;
  /** Cells of the row just read. */
  private cells = 0;
  /** End of the lines being read, and where the quote stands that is not closed before it. */
  private to = 0;
  private openAt = 0;

  constructor(
    private readonly plan: LogPlan,
    encoding: string,
    sink: (batch: SampleBatch) => void,
    limits: ReadLimits,
  ) {
    const { channels } = plan;
    const rows = channels.map(({ signal }) => (signal === null ? null : signalRow(signal)));
    this.width = channels.length;
    this.delimiter = (plan.dialect?.delimiter ?? ',').charCodeAt(0);
    this.comma = plan.dialect?.decimal === ',';
    // Between commas, a number with a decimal comma is quoted and takes the slower way.
    this.decimal = this.comma && this.delimiter !== COMMA ? COMMA : DOT;
    this.kind = Uint8Array.from(channels, ({ role, groupedByPoint }) =>
      role !== 'signal' ? TEXT : groupedByPoint ? GROUPED : SIGNAL,
    );
    this.slot = Int32Array.from(channels, ({ signal }) => (signal === null ? -1 : plan.signals.indexOf(signal)));
    this.scale = Float64Array.from(channels, ({ scale }) => scale);
    this.offset = Float64Array.from(channels, ({ offset }) => offset);
    this.isConverted = Uint8Array.from(channels, ({ scale, offset }) => (scale === 1 && offset === 0 ? 0 : 1));
    this.min = Float64Array.from(rows, (row) => row?.min ?? 0);
    this.max = Float64Array.from(rows, (row) => row?.max ?? 0);
    this.starts = new Int32Array(this.width + 1);
    this.ends = new Int32Array(this.width + 1);
    this.batch = new BatchBuilder(plan.signals.length, sink);
    this.columns = channels.map((_, index) => this.batch.values[this.slot[index] as number] ?? new Float64Array(0));
    this.clock = new RowClock(plan.time, this.comma);
    this.texts = new TextCells(plan, encoding);
    this.written = new WrittenCells(plan, encoding);
    this.odd = new OddLines(plan, plan.dialect?.delimiter ?? ',');
    this.latestMs = limits.nowMs === undefined ? Number.POSITIVE_INFINITY : limits.nowMs + AHEAD_MS;
    this.isDated = this.clock.isAbsolute || plan.time.kind === 'local';
  }

  /**
   * Reads the lines in bytes [from, to); the last byte must be a line break. Returns the place of the first byte not
   * used: `to`, or the start of a row whose quoted cell is still open. `isLast`: nothing follows, `to - 1` is a break that
   * the file did not have.
   */
  run(bytes: Uint8Array, from: number, to: number, isLast = false): number {
    let at = from;
    this.to = to;
    while (at < to) {
      const start = at;
      let byte = bytes[at] as number;
      while (byte === NUL && at < to - 1) byte = bytes[++at] as number;
      if (byte === LF || byte === CR) {
        at++;
        continue;
      }
      const rejectMark = this.batch.rejectCount;
      const end = this.readRow(bytes, at);
      if (end < 0) {
        this.batch.rejectCount = rejectMark;
        at = this.openQuote(bytes, start, to, isLast);
        if (at < 0) return start;
        continue;
      }
      at = bytes[end] === CR && end + 1 < to && bytes[end + 1] === LF ? end + 2 : end + 1;
      if (!this.endRow(bytes, { start, end, next: at, cells: this.cells, isCut: isLast && at >= to })) {
        this.batch.rejectCount = rejectMark;
      }
    }
    return at;
  }

  /**
   * Reads the cells of one row; returns the place of its line break, -1 when a quote is still open. Plain numbers are read
   * in line, because a call a cell costs as much as reading it; every other cell goes to `oddCell` or `textCell`.
   */
  private readRow(bytes: Uint8Array, start: number): number {
    const { kind, delimiter, decimal, width, columns, isConverted, min, max } = this;
    const row = this.batch.rowCount;
    this.extraFilled = false;
    let at = start;
    let column = 0;
    for (;;) {
      if (column < width && kind[column] === SIGNAL) {
        const first = at;
        let byte = bytes[at] as number;
        const isNegative = byte === MINUS;
        if (isNegative) byte = bytes[++at] as number;
        // Whole 32-bit arithmetic: up to nine digits it is exact, and with more the cell goes the slow way.
        let mantissa = 0;
        let digits = at;
        let fraction = 0;
        for (let digit = byte - 48; digit >= 0 && digit <= 9; digit = byte - 48) {
          mantissa = (Math.imul(mantissa, 10) + digit) | 0;
          byte = bytes[++at] as number;
        }
        digits = at - digits;
        if (byte === DOT || byte === decimal) {
          const point = ++at;
          byte = bytes[at] as number;
          for (let digit = byte - 48; digit >= 0 && digit <= 9; digit = byte - 48) {
            mantissa = (Math.imul(mantissa, 10) + digit) | 0;
            byte = bytes[++at] as number;
          }
          fraction = at - point;
          digits += fraction;
        }
        if (digits > 0 && digits <= EXACT_DIGITS && (byte === delimiter || byte === LF || byte === CR)) {
          let value = fraction > 0 ? mantissa / (POWERS_OF_TEN[fraction] as number) : mantissa;
          if (isNegative) value = -value;
          if (isConverted[column] === 1) value = this.converted(value, column);
          if (value >= (min[column] as number) && value <= (max[column] as number)) {
            (columns[column] as Float64Array)[row] = value;
          } else this.refuse(column, OUT_OF_RANGE);
        } else if (at === first && (byte === delimiter || byte === LF || byte === CR)) {
          (columns[column] as Float64Array)[row] = Number.NaN;
        } else at = this.oddCell(bytes, first, column);
      } else if (column < width && kind[column] === GROUPED) at = this.oddCell(bytes, at, column);
      else at = this.textCell(bytes, at, column);
      if (at < 0) return -1;
      column++;
      if (bytes[at] !== delimiter) break;
      at++;
    }
    this.cells = column;
    return at;
  }

  private converted(value: number, column: number): number {
    return snap(value * (this.scale[column] as number) + (this.offset[column] as number));
  }

  private refuse(column: number, reason: number): void {
    (this.columns[column] as Float64Array)[this.batch.rowCount] = Number.NaN;
    this.batch.reject(this.slot[column] as number, reason);
  }

  /** Any number cell that is not plain digits: blanks, words, exponents, quotes, groups, units. -1 = its quote is still open. */
  private oddCell(bytes: Uint8Array, start: number, column: number): number {
    const at = this.textCell(bytes, start, column);
    if (at < 0) return at;
    const from = this.starts[column] as number;
    const to = this.ends[column] as number;
    const isGrouped = this.kind[column] === GROUPED;
    let value = isGrouped ? Number.NaN : numberFromBytes(bytes, from, to, this.comma);
    if (Number.isNaN(value)) {
      const isBlank = isBlankCell(bytes, from, to);
      if (!isBlank) value = this.written.read(bytes, from, to, column);
      if (Number.isNaN(value)) {
        if (isBlank) (this.columns[column] as Float64Array)[this.batch.rowCount] = Number.NaN;
        else this.refuse(column, UNREADABLE);
        return at;
      }
    }
    if (this.isConverted[column] === 1) value = this.converted(value, column);
    if (value >= (this.min[column] as number) && value <= (this.max[column] as number)) {
      (this.columns[column] as Float64Array)[this.batch.rowCount] = value;
    } else this.refuse(column, OUT_OF_RANGE);
    return at;
  }

  /** Notes the place of a cell; returns that of the delimiter or break behind it, -1 when its quote is still open. */
  private textCell(bytes: Uint8Array, start: number, column: number): number {
    const { delimiter } = this;
    let at = start;
    let byte = bytes[at] as number;
    let from = start;
    let end = -1;
    if (byte === QUOTE) {
      from = at + 1;
      end = closingQuote(bytes, from, Math.min(this.to, from + CSV_LIMITS.maxCellBytes));
      if (end < 0) {
        this.openAt = from;
        return -1;
      }
      at = end + 1;
      byte = bytes[at] as number;
    }
    const tail = at;
    while (byte !== delimiter && byte !== LF && byte !== CR) byte = bytes[++at] as number;
    // Characters behind a closing quote belong to the cell as well; RFC 4180 does not foresee them.
    if (end < 0 || at > tail) end = at;
    if (column < this.width) {
      this.starts[column] = from;
      this.ends[column] = end;
    } else if (end > from) this.extraFilled = true;
    return at;
  }

  /** A quote without an end: wait for more, or give up on this line. Returns where to go on, -1 = wait. */
  private openQuote(bytes: Uint8Array, rowStart: number, to: number, isLast: boolean): number {
    if (!isLast && to - this.openAt < CSV_LIMITS.maxCellBytes) return -1;
    let at = rowStart;
    while (bytes[at] !== LF && bytes[at] !== CR) at++;
    this.reject(isLast && at >= to - 1 ? 'row_cut' : 'quote_open');
    return at + 1;
  }

  /** Judges a row whose cells are read; false = it was left out. */
  private endRow(
    bytes: Uint8Array,
    row: { start: number; end: number; next: number; cells: number; isCut: boolean },
  ): boolean {
    const { width } = this;
    if (row.next - row.start > CSV_LIMITS.maxCellBytes) {
      const reason = tooLong(bytes, row.start, row.next, this.delimiter);
      if (reason) return this.reject(reason);
    }
    const fits = row.cells === width || (row.cells === width + 1 && !this.extraFilled);
    const ownMs = fits ? this.clock.parse(bytes, this.starts, this.ends, this.plan.time.columns) : Number.NaN;
    if (Number.isNaN(ownMs)) return this.oddLine(bytes, row, fits);
    if (this.isForeign) return this.reject('table_changed');
    const timeMs = this.clock.advance(ownMs);
    if (this.isDated && (timeMs < EARLIEST_MS || timeMs > this.latestMs)) return this.reject('time_implausible');
    if (this.afterHeader) {
      if (this.plan.time.kind === 'elapsed' && ownMs < this.lastOwnMs) this.counts.unanchoredRestarts++;
      this.afterHeader = false;
    }
    this.lastOwnMs = ownMs;
    const at = { row: ++this.counts.rows, timeMs };
    this.texts.report(bytes, this, at, this.batch);
    this.batch.commit(at.row, timeMs);
    return true;
  }

  private oddLine(
    bytes: Uint8Array,
    row: { start: number; end: number; cells: number; isCut: boolean },
    fits: boolean,
  ): false {
    const line = this.texts.text(bytes, row.start, row.end);
    if (isEmptyLine(line)) return false;
    const found = this.odd.classify(line);
    if (found.is !== 'row') return this.takeHeaderBlock(found);
    if (this.isForeign) return this.reject('table_changed');
    if (fits) return this.reject('time_unreadable');
    if (row.cells < this.width) return this.reject(row.isCut ? 'row_cut' : 'row_short');
    return this.reject('row_long');
  }

  private takeHeaderBlock(found: OddLine): false {
    if (found.is === 'header') {
      this.counts.repeatedHeaders++;
      this.isForeign = false;
      this.afterHeader = true;
    } else if (found.is === 'other-header') this.isForeign = true;
    else if (
      found.is === 'preamble' &&
      found.startMs !== null &&
      this.plan.time.kind === 'elapsed' &&
      this.clock.isAbsolute
    ) {
      this.clock.anchor(found.startMs);
      this.lastOwnMs = Number.NaN;
    }
    return false;
  }

  /** Counts a row that is left out. */
  reject(reason: RowReject): false {
    const row = ++this.counts.rows;
    this.counts.rowsRejectedBy[reason] = (this.counts.rowsRejectedBy[reason] ?? 0) + 1;
    const first = (this.counts.firstRows[reason] ??= []);
    if (first.length < 5) first.push(row);
    return false;
  }
}

/** Place of the quote that ends a cell, doubled ones skipped; -1 = none before `limit`. */
function closingQuote(bytes: Uint8Array, from: number, limit: number): number {
  for (let at = from; at < limit; at++) {
    if (bytes[at] !== QUOTE) continue;
    if (bytes[at + 1] !== QUOTE || at + 1 >= limit) return at;
    at++;
  }
  return -1;
}

/** White space, padding, and the end-of-file mark of old systems. */
function isEmptyLine(line: string): boolean {
  return line.replaceAll('\0', '').replaceAll('\x1a', '').trim() === '';
}

function tooLong(bytes: Uint8Array, start: number, next: number, delimiter: number): RowReject | null {
  if (next - start > CSV_LIMITS.maxRowBytes) return 'row_too_long';
  let cellStart = start;
  for (let at = start; at < next; at++) {
    if (bytes[at] !== delimiter && at < next - 1) continue;
    if (at - cellStart > CSV_LIMITS.maxCellBytes) return 'cell_too_long';
    cellStart = at + 1;
  }
  return null;
}
