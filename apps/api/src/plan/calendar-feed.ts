import type { StoredVisit } from '@tallybay/registry';
import ical, { ICalCalendarMethod, ICalEventStatus } from 'ical-generator';
import { DateTime } from 'luxon';
import { vTimezone } from './v-timezone.js';

export interface FeedInput {
  name: string;
  timeZone: string;
  visits: readonly StoredVisit[];
  bayNames: ReadonlyMap<string, string>;
  depotNames: ReadonlyMap<string, string>;
}

/** How often a subscribed calendar should look again. */
const REFRESH_SECONDS = 15 * 60;

/**
 * Visits as an iCalendar object (RFC 5545): one event a visit and day, with local times and their VTIMEZONE, so that it stays
 * at the same time of day when clocks change. The UID of an event never changes; SEQUENCE counts changes; what was taken from
 * the plan stays as CANCELLED, so that calendars which know it take it away.
 */
export function calendarFeed({ name, timeZone, visits, bayNames, depotNames }: FeedInput): string {
  const years = visits.map(({ day }) => Number(day.slice(0, 4)));
  const span = { from: Math.min(...years, new Date().getUTCFullYear()), to: Math.max(...years, 1) + 1 };
  const calendar = ical({
    ...{
      name,
      prodId: { company: 'tallybay', product: 'shop-plan', language: 'EN' },
      method: ICalCalendarMethod.PUBLISH,
    },
    ...{ ttl: REFRESH_SECONDS, timezone: { name: timeZone, generator: (zone: string) => vTimezone(zone, span) } },
  });
  for (const visit of visits)
    for (const [index, part] of [...visit.parts, ...(visit.formerParts ?? [])].entries()) {
      const start = at(part.day, part.fromMinute, timeZone);
      calendar.createEvent({
        id: index === 0 ? `${visit.id}@tallybay` : `${visit.id}-${index + 1}@tallybay`,
        ...{
          sequence: visit.sequence,
          start,
          end: at(part.day, part.fromMinute + part.minutes, timeZone),
          timezone: timeZone,
        },
        summary: `${visit.vehicle}: ${visit.inspections.map(({ label }) => label).join('; ')}`,
        location: `${bayNames.get(visit.bay) ?? visit.bay}, ${depotNames.get(visit.depot) || visit.depot}`,
        description: visit.inspections
          .flatMap(({ label, why }) => [label, ...why.map((text) => `- ${text}`)])
          .join('\n'),
        // A visit that became shorter cancels the days that it had.
        status: index < visit.parts.length ? statusOf(visit) : ICalEventStatus.CANCELLED,
        stamp: DateTime.fromMillis(visit.updatedAtMs, { zone: 'utc' }),
        created: DateTime.fromMillis(visit.createdAtMs, { zone: 'utc' }),
        lastModified: DateTime.fromMillis(visit.updatedAtMs, { zone: 'utc' }),
        categories: [{ name: visit.state.replaceAll('_', ' ') }],
      });
    }
  return calendar.toString();
}

/** A time of the wall clock; one that does not exist when clocks go forward is the hour after (RFC 5545, 3.3.5). */
const at = (day: string, minute: number, zone: string): DateTime =>
  DateTime.fromISO(`${day}T00:00`, { zone }).set({ hour: Math.floor(minute / 60), minute: minute % 60 });

function statusOf({ cancelledAtMs, state }: StoredVisit): ICalEventStatus {
  if (cancelledAtMs !== null || state === 'declined') return ICalEventStatus.CANCELLED;
  return state === 'proposed' ? ICalEventStatus.TENTATIVE : ICalEventStatus.CONFIRMED;
}
