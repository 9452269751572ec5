import { CalendarReader } from './calendar-cells.js';
import { numberFromBytes } from './number-cells.js';
import { type TimeFormat, timeFormat } from './time-formats.js';
import type { TimePlan } from './types.js';
import { ZoneClock } from './zone.js';

const DAY_MS = 86_400_000;
const HALF_DAY_MS = DAY_MS / 2;
const HOUR_MS = 3_600_000;
/** How far from the full hour the rows may stand between which `mm:ss` begins anew. */
const HOUR_EDGE_MS = 60_000;
const [SPACE, ZERO] = [32, 48] as const;

/**
 * Instants of rows, in file order. Clock-only times roll over midnight when they fall by more than half a day; a smaller
 * fall is a step back of the recorder's clock and stays one.
 */
export class RowClock {
  private readonly format: TimeFormat;
  private readonly calendar = new CalendarReader();
  private readonly zone: ZoneClock | null;
  private readonly startDayMs: number;
  private readonly joined = new Uint8Array(128);
  private dayMs = 0;
  private hourMs = 0;
  private previousClockMs = Number.NaN;
  private previousUtcMs = Number.NaN;
  private firstMs: number;
  private startMs: number | null;

  constructor(
    readonly time: TimePlan,
    private readonly comma: boolean,
  ) {
    this.format = timeFormat(time.format);
    this.zone = time.timeZone !== null ? new ZoneClock(time.timeZone) : null;
    this.startDayMs = time.startDate === null ? Number.NaN : Date.parse(`${time.startDate}T00:00:00Z`);
    this.firstMs = time.firstMs ?? Number.NaN;
    this.startMs = time.startMs;
  }

  /** Whether instants are UTC; else they are milliseconds on the log's own clock. */
  get isAbsolute(): boolean {
    const { kind } = this.format;
    if (kind === 'absolute') return true;
    if (kind === 'local') return this.zone !== null;
    return this.startMs !== null || (kind === 'clock' && this.zone !== null && !Number.isNaN(this.startDayMs));
  }

  /** Own-clock milliseconds of the time cells at the given places, NaN when unreadable. Changes no state. */
  parse(bytes: Uint8Array, starts: Int32Array, ends: Int32Array, columns: readonly number[]): number {
    const ms = this.parseWhole(bytes, starts, ends, columns);
    const { fraction } = this.time;
    if (fraction === undefined) return ms;
    const { column, perUnitMs } = fraction;
    const part = numberFromBytes(bytes, starts[column] as number, ends[column] as number, this.comma);
    return ms + part * perUnitMs;
  }

  private parseWhole(bytes: Uint8Array, starts: Int32Array, ends: Int32Array, columns: readonly number[]): number {
    const { fill } = this.time;
    if (columns.length === 1 && fill === undefined) {
      const column = columns[0] as number;
      return this.parseCell(bytes, starts[column] as number, ends[column] as number);
    }
    let length = 0;
    for (const [index, column] of columns.entries()) {
      const start = starts[column] as number;
      const end = Math.min(ends[column] as number, start + 60);
      if (length > 0) this.joined[length++] = SPACE;
      for (let zeros = (fill?.[index] ?? 0) - digitsAt(bytes, start, end); fill && zeros > 0; zeros--)
        this.joined[length++] = ZERO;
      for (let at = start; at < end; at++) this.joined[length++] = bytes[at] as number;
    }
    return this.parseCell(this.joined, 0, length);
  }

  private parseCell(bytes: Uint8Array, start: number, end: number): number {
    if (this.format.read === 'number') {
      const value = numberFromBytes(bytes, start, end, this.comma);
      const { perUnitUs, stepUs, zeroMs } = this.format;
      return (Math.round((value * perUnitUs) / stepUs) * stepUs) / 1000 + zeroMs;
    }
    if (this.format.read === 'hms') return elapsedHms(bytes, start, end);
    const { calendar } = this;
    if (!calendar.read(bytes, start, end, this.format.order)) return Number.NaN;
    if (this.format.halves && !calendar.twelveHour && isHalfOpen(calendar.clockMs)) return Number.NaN;
    if (this.format.kind === 'clock') return calendar.clockMs;
    const localMs = calendar.dayMs + (Number.isNaN(calendar.clockMs) ? 0 : calendar.clockMs);
    if (this.format.kind === 'local') return localMs;
    return localMs - calendar.offsetMs;
  }

  /** Instant of the next row from what `parse` gave. UTC where `isAbsolute`, else on the log's own clock. */
  advance(ownMs: number): number {
    const { kind } = this.format;
    if (kind === 'absolute') return ownMs;
    if (kind === 'local') return this.toUtc(ownMs);
    if (kind === 'elapsed') {
      const elapsedMs = this.format.read === 'hms' ? this.passHour(ownMs) : ownMs;
      return this.startMs === null ? elapsedMs : this.startMs + elapsedMs;
    }
    const clockMs = this.rollOver(ownMs);
    if (this.startMs !== null) {
      if (Number.isNaN(this.firstMs)) this.firstMs = clockMs;
      return this.startMs + clockMs - this.firstMs;
    }
    return Number.isNaN(this.startDayMs) ? clockMs : this.toUtc(this.startDayMs + clockMs);
  }

  /** A restart inside the file said when it began: elapsed times count from there. */
  anchor(startMs: number): void {
    this.startMs = startMs;
    this.hourMs = 0;
    this.previousClockMs = Number.NaN;
  }

  private toUtc(localMs: number): number {
    if (!this.zone) return localMs;
    this.previousUtcMs = this.zone.toUtcMs(localMs, this.previousUtcMs);
    return this.previousUtcMs;
  }

  /** Spreadsheets show elapsed time as `mm:ss.0`, which begins anew each hour: 59:59 is followed by 00:00. */
  private passHour(ownMs: number): number {
    const step = ownMs - this.previousClockMs;
    if (step < -HOUR_MS + HOUR_EDGE_MS && this.previousClockMs < HOUR_MS) this.hourMs += HOUR_MS;
    this.previousClockMs = ownMs;
    return this.hourMs + ownMs;
  }

  private rollOver(clockMs: number): number {
    const step = clockMs - this.previousClockMs;
    if (step < -HALF_DAY_MS) this.dayMs += DAY_MS;
    else if (step > HALF_DAY_MS && this.dayMs > 0) this.dayMs -= DAY_MS;
    this.previousClockMs = clockMs;
    return this.dayMs + clockMs;
  }
}

/** In a log that writes AM and PM, a clock from 1:00 to 12:59 without them may be either half of the day. */
function isHalfOpen(clockMs: number): boolean {
  return clockMs >= HOUR_MS && clockMs < 13 * HOUR_MS;
}

/** Length of the run of digits at the start of a cell. */
function digitsAt(bytes: Uint8Array, start: number, end: number): number {
  let at = start;
  while (at < end && (bytes[at] as number) >= ZERO && (bytes[at] as number) < ZERO + 10) at++;
  return at - start;
}

/** `h:mm:ss`, `mm:ss`, with a fraction; hours may pass 24. NaN when it is anything else. */
export function elapsedHms(bytes: Uint8Array, start: number, end: number): number {
  let text = '';
  for (let at = start; at < Math.min(end, start + 40); at++) text += String.fromCharCode(bytes[at] as number);
  const match = /^\s*(?:(\d{1,5}):)?(\d{1,2}):(\d{2})(?:[.,](\d{1,9}))?\s*$/.exec(text);
  if (!match) return Number.NaN;
  const [, hours = '0', minutes = '0', seconds = '0', fraction = ''] = match;
  if (Number(seconds) > 59 || (match[1] !== undefined && Number(minutes) > 59)) return Number.NaN;
  const fractionMs = fraction === '' ? 0 : Number(`0.${fraction}`) * 1000;
  return (
    Number(hours) * 3_600_000 + Number(minutes) * 60_000 + Number(seconds) * 1000 + Math.round(fractionMs * 1e6) / 1e6
  );
}
