import type { Span } from './time-span.js';

const SECOND = 1000;
const MINUTE = 60 * SECOND;
const HOUR = 60 * MINUTE;
const DAY = 24 * HOUR;

/** Steps of a time axis that people can count in [ms]. */
const STEPS: readonly number[] = [
  ...[10, 20, 50, 100, 200, 500],
  ...[1, 2, 5, 10, 15, 30].map((count) => count * SECOND),
  ...[1, 2, 5, 10, 15, 30].map((count) => count * MINUTE),
  ...[1, 2, 3, 6, 12].map((count) => count * HOUR),
  ...[1, 2, 7, 14, 28].map((count) => count * DAY),
];

/** No zone of the world changes its offset more often than on a quarter of an hour. */
const OFFSET_HOLDS_MS = 15 * MINUTE;

/** Instants as the clock of one time zone shows them, 24 hours a day. */
export class ZoneTime {
  private readonly offsets = new Map<number, number>();
  private readonly zoneName: Intl.DateTimeFormat;
  private readonly dateText: Intl.DateTimeFormat;

  constructor(
    readonly zone: string,
    locale: string,
  ) {
    this.zoneName = new Intl.DateTimeFormat('en-US', { timeZone: zone, timeZoneName: 'longOffset' });
    this.dateText = new Intl.DateTimeFormat(locale, { timeZone: zone, dateStyle: 'medium' });
  }

  date(ms: number): string {
    return this.dateText.format(ms);
  }

  /** `14:03`, with seconds or fractions where `stepMs` is finer than a minute or a second. */
  clock(ms: number, stepMs: number): string {
    const text = new Date(Math.round(ms) + this.offsetMs(ms)).toISOString();
    if (stepMs < SECOND) return text.slice(11, stepMs < 100 ? 23 : 21);
    return text.slice(11, stepMs < MINUTE ? 19 : 16);
  }

  full(ms: number, stepMs = 100): string {
    return `${this.date(ms)}, ${this.clock(ms, stepMs)}`;
  }

  /** What the zone's clock is ahead of UTC at this instant. */
  offsetMs(ms: number): number {
    const key = Math.floor(ms / OFFSET_HOLDS_MS);
    const known = this.offsets.get(key);
    if (known !== undefined) return known;
    const name = this.zoneName.formatToParts(ms).find(({ type }) => type === 'timeZoneName')?.value ?? 'GMT';
    const [, sign, hours, minutes] = /GMT([+-])(\d+):(\d+)/.exec(name) ?? [];
    const offset = sign ? (sign === '-' ? -1 : 1) * (Number(hours) * HOUR + Number(minutes) * MINUTE) : 0;
    this.offsets.set(key, offset);
    return offset;
  }
}

/** Instants to mark on an axis of so many px: round ones on the zone's clock, at least `apartPx` apart. */
export function timeTicks(
  span: Span,
  widthPx: number,
  zone: ZoneTime,
  apartPx: number,
): { stepMs: number; atMs: number[] } {
  const wantedMs = ((span.toMs - span.fromMs) / Math.max(1, widthPx)) * apartPx;
  const stepMs = STEPS.find((step) => step >= wantedMs) ?? STEPS.at(-1)!;
  const offsetMs = zone.offsetMs(span.fromMs);
  const first = Math.ceil((span.fromMs + offsetMs) / stepMs) * stepMs - offsetMs;
  const count = Math.max(0, Math.floor((span.toMs - first) / stepMs) + 1);
  return { stepMs, atMs: Array.from({ length: count }, (_, index) => first + index * stepMs) };
}
