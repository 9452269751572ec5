import { t } from '../../text/text.js';

const DAY_MS = 86_400_000;
const LONG_AGO_DAYS = 300;

/** Instants of one vehicle as the clock of its depot shows them. */
export class DepotTime {
  private readonly dates: Intl.DateTimeFormat;
  private readonly both: Intl.DateTimeFormat;
  private readonly near: Intl.DateTimeFormat;

  constructor(readonly timeZone: string) {
    this.dates = new Intl.DateTimeFormat(t.locale, { timeZone, dateStyle: 'medium' });
    this.both = new Intl.DateTimeFormat(t.locale, { timeZone, dateStyle: 'medium', timeStyle: 'short' });
    const clock = { hour: 'numeric', minute: '2-digit' } as const;
    this.near = new Intl.DateTimeFormat(t.locale, { timeZone, month: 'short', day: 'numeric', ...clock });
  }

  date(at: string): string {
    return this.dates.format(Date.parse(at));
  }

  /** Without the year where it is clear from the day. */
  short(at: string): string {
    return (daysSince(at) < LONG_AGO_DAYS ? this.near : this.both).format(Date.parse(at));
  }

  full(at: string): string {
    return this.both.format(Date.parse(at));
  }
}

/** A calendar date without a time is the same day everywhere. */
export const dayText = (date: string): string =>
  new Date(date).toLocaleDateString(t.locale, { dateStyle: 'medium', timeZone: 'UTC' });

/** Whole days from today in a zone to a calendar date, negative when it has passed. */
export function daysUntil(date: string, timeZone: string, nowMs = Date.now()): number {
  const today = new Intl.DateTimeFormat('en-CA', { timeZone }).format(nowMs);
  return Math.round((Date.parse(date) - Date.parse(today)) / DAY_MS);
}

export const daysSince = (at: string, nowMs = Date.now()): number => Math.floor((nowMs - Date.parse(at)) / DAY_MS);

/** The stretch to open a recording at: a little before and after, so that what led to it is seen. */
export function around(from: string, to: string, sideMs = 120_000): { from: string; to: string } {
  return {
    from: new Date(Date.parse(from) - sideMs).toISOString(),
    to: new Date(Date.parse(to) + sideMs).toISOString(),
  };
}
