import { TallybayError } from '@tallybay/contracts';
import { DateTime } from 'luxon';

/** `2026-W41`: the ISO 8601 week, week 1 being the one with the year's first Thursday. */
const WEEK_PATTERN = /^(\d{4})-W(\d{2})$/;

/** ISO week and day of a calendar date `YYYY-MM-DD`, as `2004-W53-6`. */
export const isoWeekDate = (date: string): string =>
  valid(DateTime.fromISO(date, { zone: 'UTC' }), date).toISOWeekDate()!;

/** ISO week of an instant in a zone, as `2026-W41`. @throws TallybayError `parameter_invalid` for an unknown zone */
export const isoWeekOf = (atMs: number, timeZone: string): string =>
  valid(DateTime.fromMillis(atMs, { zone: timeZone }), timeZone)
    .toISOWeekDate()!
    .slice(0, 8);

/** First instant of the week and of the next one in a zone: [fromMs, toMs). A week with a clock change is not 168 h. */
export function weekWindow(week: string, timeZone: string): { fromMs: number; toMs: number } {
  const start = valid(startOfWeek(week, timeZone), timeZone);
  return { fromMs: start.toMillis(), toMs: start.plus({ weeks: 1 }).toMillis() };
}

/** The week `count` weeks later (negative: earlier). */
export const shiftWeek = (week: string, count: number): string =>
  startOfWeek(week, 'UTC').plus({ weeks: count }).toISOWeekDate()!.slice(0, 8);

/** @throws TallybayError `week_invalid` unless the text is a week that exists (2026 has 53, 2027 has 52) */
export function assertIsoWeek(week: string): void {
  startOfWeek(week, 'UTC');
}

/** Local date and time with the zone's offset, for people and for `from`/`to` of a ranking. */
export const isoInstant = (atMs: number, timeZone: string): string =>
  valid(DateTime.fromMillis(atMs, { zone: timeZone }), timeZone).toISO({ suppressMilliseconds: true })!;

/** Local calendar date `YYYY-MM-DD`. */
export const isoDay = (atMs: number, timeZone: string): string =>
  valid(DateTime.fromMillis(atMs, { zone: timeZone }), timeZone).toISODate()!;

function startOfWeek(week: string, zone: string): DateTime {
  const match = WEEK_PATTERN.exec(week);
  const start = match
    ? DateTime.fromObject({ weekYear: Number(match[1]), weekNumber: Number(match[2]), weekday: 1 }, { zone })
    : DateTime.invalid('not a week');
  if (start.isValid || start.invalidReason === 'unsupported zone') return start;
  throw new TallybayError('week_invalid', `"${week}" is not an ISO week`, {
    advice: 'Write the year and the week number as in 2026-W41; 2026 has weeks 01 to 53.',
  });
}

function valid(moment: DateTime, input: string): DateTime {
  if (moment.isValid) return moment;
  throw new TallybayError('parameter_invalid', `"${input}" cannot be read: ${moment.invalidExplanation ?? 'invalid'}`, {
    advice: 'Give a date such as 2026-10-05 and an IANA time zone such as America/Denver.',
  });
}
