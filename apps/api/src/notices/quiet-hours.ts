import type { DisturbingWay, NoticeSettings } from '@tallybay/contracts';
import { minutesOfClock } from '@tallybay/plan';
import { DateTime } from 'luxon';

const MS_PER_MINUTE = 60_000;

/**
 * Whether what waits has to wait longer: in quiet hours, and until the group is full, which is some minutes after its first.
 * @param at the moment, when the oldest of what waits came, and the zone of the clock
 */
export function isHeld(
  way: DisturbingWay,
  { held, quiet, groupMinutes }: NoticeSettings,
  { nowMs, oldestMs, zone }: { nowMs: number; oldestMs: number; zone: string },
): boolean {
  if (!held.includes(way)) return false;
  return nowMs - oldestMs < groupMinutes * MS_PER_MINUTE || isQuiet(nowMs, zone, quiet);
}

/** Whether an instant lies in the quiet hours by the clock of a zone; `from` is quiet, `to` no longer. They may span midnight. */
export function isQuiet(atMs: number, zone: string, quiet: { from: string; to: string } | null): boolean {
  if (!quiet) return false;
  const local = DateTime.fromMillis(atMs, { zone });
  const minute = local.hour * 60 + local.minute;
  const from = minutesOfClock(quiet.from);
  const to = minutesOfClock(quiet.to);
  return from <= to ? from <= minute && minute < to : minute >= from || minute < to;
}
