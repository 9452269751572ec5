/** Offsets of real zones change at quarter hours of local time only, so one look-up serves a quarter hour. */
const QUARTER_MS = 900_000;
const DAY_MS = 86_400_000;

/** Making a formatter costs as much as reading thousands of rows, so one is kept for each zone. */
const formats = new Map<string, Intl.DateTimeFormat>();

function formatOf(zone: string): Intl.DateTimeFormat {
  let format = formats.get(zone);
  if (!format) {
    format = new Intl.DateTimeFormat('en-US', {
      timeZone: zone,
      hourCycle: 'h23',
      ...{ year: 'numeric', month: 'numeric', day: 'numeric', hour: 'numeric', minute: 'numeric', second: 'numeric' },
    });
    formats.set(zone, format);
  }
  return format;
}

/** Whether the runtime knows this IANA zone (or `+02:00`). */
export function isTimeZone(zone: string): boolean {
  try {
    new Intl.DateTimeFormat('en-US', { timeZone: zone });
    return zone !== '';
  } catch {
    return false;
  }
}

/**
 * Local wall time to UTC for one zone. A wall time that the zone skips (clocks go forward) is read with the offset in
 * force before; one that occurs twice (clocks go back) is the first of the two, unless that would step behind the row
 * before, then the second. Milliseconds "as if UTC" in, UTC epoch milliseconds out.
 */
export class ZoneClock {
  private readonly format: Intl.DateTimeFormat | null;
  private readonly isUtc: boolean;
  private bucket = Number.NaN;
  private firstOffsetMs = 0;
  private secondOffsetMs = 0;

  /** @throws RangeError for a zone that the runtime does not know. */
  constructor(zone: string) {
    this.isUtc = zone === 'UTC' || zone === 'Etc/UTC';
    this.format = this.isUtc ? null : formatOf(zone);
  }

  toUtcMs(localMs: number, previousUtcMs = Number.NaN): number {
    if (this.isUtc) return localMs;
    const bucket = Math.floor(localMs / QUARTER_MS);
    if (bucket !== this.bucket) this.look(bucket);
    const first = localMs - this.firstOffsetMs;
    if (this.firstOffsetMs === this.secondOffsetMs) return first;
    // The second pass begins where the clock stepped back by about the difference; a smaller step back is jitter.
    const stepMs = this.firstOffsetMs - this.secondOffsetMs;
    return first < previousUtcMs - stepMs / 2 ? localMs - this.secondOffsetMs : first;
  }

  private look(bucket: number): void {
    const localMs = bucket * QUARTER_MS;
    const before = this.offsetAt(localMs - DAY_MS);
    const after = this.offsetAt(localMs + DAY_MS);
    const fitsBefore = this.offsetAt(localMs - before) === before;
    const fitsAfter = this.offsetAt(localMs - after) === after;
    this.bucket = bucket;
    this.firstOffsetMs = fitsBefore || !fitsAfter ? before : after;
    this.secondOffsetMs = fitsAfter ? after : this.firstOffsetMs;
  }

  /** Local minus UTC at an instant, in milliseconds. */
  offsetAt(utcMs: number): number {
    const whole = Math.floor(utcMs / 1000) * 1000;
    const parts: Record<string, number> = {};
    if (this.format === null) return 0;
    for (const { type, value } of this.format.formatToParts(whole)) parts[type] = Number(value);
    const { year = 0, month = 1, day = 1, hour = 0, minute = 0, second = 0 } = parts;
    return Date.UTC(year, month - 1, day, hour, minute, second) - whole;
  }
}
