import { t } from '../../text/text.js';

const DAY_MS = 86_400_000;

/** Monday of an ISO week (ISO 8601: week 1 holds 4 January), as UTC midnight. */
export function mondayOf(week: string): number {
  const [year = 1970, number = 1] = week.split('-W').map(Number);
  const fourth = Date.UTC(year, 0, 4);
  const weekday = (new Date(fourth).getUTCDay() + 6) % 7;
  return fourth + ((number - 1) * 7 - weekday) * DAY_MS;
}

/** `14–20 Sep 2026` */
export function weekDays(week: string): string {
  const from = mondayOf(week);
  const format = new Intl.DateTimeFormat(t.locale, {
    timeZone: 'UTC',
    day: 'numeric',
    month: 'short',
    year: 'numeric',
  });
  return format.formatRange(from, from + 6 * DAY_MS);
}

export const weekNumber = (week: string): string => week.slice(5);
