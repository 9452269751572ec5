import { minutesOfClock } from '@tallybay/plan';
import { DateTime } from 'luxon';

/** Whether an instant lies in the quiet hours by the clock of a zone; `from` is quiet, `to` no longer. They may span midnight. */
export function isQuiet(atMs: number, zone: string, quiet: { from: string; to: string } | null): boolean {
  if (!quiet) return false;
  const local = DateTime.fromMillis(atMs, { zone });
  const minute = local.hour * 60 + local.minute;
  const from = minutesOfClock(quiet.from);
  const to = minutesOfClock(quiet.to);
  return from <= to ? from <= minute && minute < to : minute >= from || minute < to;
}
