import type { Fleet } from '@tallybay/contracts';
import { addWeeks, DEPOTS, weekOf } from '@tallybay/synthetic-fleet';
import { DateTime } from 'luxon';

/**
 * The fleet as if its last week had ended today: inspections that were due after that week are as many days ahead of today.
 * What was due before keeps its date, because it belongs to what was recorded, such as a code that was cleared just before.
 * @param lastWeek ISO week, such as `2026-W38`
 */
export function datesFromToday(fleet: Fleet, lastWeek: string, nowMs: number): Fleet {
  const zones = new Map(fleet.depots.map(({ id, timeZone }) => [id, timeZone]));
  return {
    ...fleet,
    vehicles: fleet.vehicles.map((vehicle) => {
      const { inspectionDue } = vehicle;
      const zone = zones.get(vehicle.depot) ?? 'UTC';
      const weekEnd = DateTime.fromISO(lastWeek, { zone: 'utc' }).plus({ weeks: 1 });
      const due = inspectionDue === undefined ? null : DateTime.fromISO(inspectionDue, { zone: 'utc' });
      if (due === null || due < weekEnd) return vehicle;
      const today = DateTime.fromMillis(nowMs, { zone }).toISODate()!;
      const ahead = due.diff(weekEnd, 'days').days;
      return { ...vehicle, inspectionDue: DateTime.fromISO(today, { zone: 'utc' }).plus({ days: ahead }).toISODate()! };
    }),
  };
}

/** First of so many ISO weeks of which the last is the newest that is over in every depot. */
export function firstWeek(weeks: number, nowMs: number): string {
  const [under] = DEPOTS.map(({ timeZone }) => weekOf(nowMs, timeZone)).sort();
  return addWeeks(under!, -weeks);
}
