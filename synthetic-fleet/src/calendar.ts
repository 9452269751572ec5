import { DateTime } from 'luxon';

export const MS_PER_HOUR = 3_600_000;
export const MS_PER_DAY = 24 * MS_PER_HOUR;

/** Midnight that starts an ISO week (`2026-W36`) in a zone, plus `days` calendar days, as UTC epoch milliseconds. */
export function weekDayMs(week: string, days: number, zone: string): number {
  const { weekYear, weekNumber } = parseWeek(week);
  return DateTime.fromObject({ weekYear, weekNumber, weekday: 1 }, { zone }).plus({ days }).toMillis();
}

/** Wall-clock instant in a zone: `hours` (fractional) after midnight of day `days` of the week, by the clock on the wall. */
export function wallClockMs(place: { week: string; days: number; zone: string }, hours: number): number {
  const midnight = DateTime.fromMillis(weekDayMs(place.week, place.days, place.zone), { zone: place.zone });
  const minutes = Math.floor(hours * 60);
  const seconds = Math.floor((hours * 60 - minutes) * 60);
  return midnight.set({ hour: Math.floor(minutes / 60), minute: minutes % 60, second: seconds }).toMillis();
}

export function addWeeks(week: string, count: number): string {
  const { weekYear, weekNumber } = parseWeek(week);
  const day = DateTime.fromObject({ weekYear, weekNumber, weekday: 1 }, { zone: 'utc' }).plus({ weeks: count });
  return formatWeek(day);
}

/** Weeks from one ISO week to another, negative when the other is earlier. */
export function weeksBetween(from: string, to: string): number {
  return Math.round((weekDayMs(to, 0, 'utc') - weekDayMs(from, 0, 'utc')) / (7 * MS_PER_DAY));
}

/** The same wall-clock time so many weeks earlier. */
export function weeksEarlier(ms: number, weeks: number, zone: string): number {
  return DateTime.fromMillis(ms, { zone }).minus({ weeks }).toMillis();
}

export function weekOf(ms: number, zone: string): string {
  return formatWeek(DateTime.fromMillis(ms, { zone }));
}

export function offsetMinutes(ms: number, zone: string): number {
  return DateTime.fromMillis(ms, { zone }).offset;
}

export function isoDate(ms: number, zone: string): string {
  return DateTime.fromMillis(ms, { zone }).toFormat('yyyy-MM-dd');
}

export function isoInstant(ms: number): string {
  return new Date(ms).toISOString();
}

export function dayOfYear(ms: number, zone: string): number {
  return DateTime.fromMillis(ms, { zone }).ordinal;
}

export function hourOfDay(ms: number, zone: string): number {
  const at = DateTime.fromMillis(ms, { zone });
  return at.hour + at.minute / 60 + at.second / 3600;
}

/** Throws RangeError with the text and an example when it is not an ISO week that exists. */
export function parseWeek(week: string): { weekYear: number; weekNumber: number } {
  const match = /^(\d{4})-W(\d{2})$/.exec(week);
  const weekYear = Number(match?.[1]);
  const weekNumber = Number(match?.[2]);
  const valid = match && DateTime.fromObject({ weekYear, weekNumber, weekday: 1 }, { zone: 'utc' }).isValid;
  if (!valid) throw new RangeError(`"${week}" is not an ISO week that exists; write it like 2026-W36`);
  return { weekYear, weekNumber };
}

function formatWeek(at: DateTime): string {
  return `${String(at.weekYear).padStart(4, '0')}-W${String(at.weekNumber).padStart(2, '0')}`;
}
