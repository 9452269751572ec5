import type { Visit } from '@tallybay/contracts';
import { clockOfMinutes } from '@tallybay/plan';
import type { StoredVisit } from '@tallybay/registry';

/** A visit as it is shown; times are of the depot's clock. */
export function visitView(visit: StoredVisit, timeZone: string): Visit {
  const first = visit.parts[0];
  const last = visit.parts.at(-1);
  return {
    ...{ id: visit.id, vehicle: visit.vehicle, vehicleClass: visit.vehicleClass, depot: visit.depot, bay: visit.bay },
    ...{ person: visit.person, day: visit.day, lastDay: visit.lastDay, timeZone, minutes: visit.minutes },
    from: clockOfMinutes(first?.fromMinute ?? 0),
    to: clockOfMinutes((last?.fromMinute ?? 0) + (last?.minutes ?? 0)),
    ...{ state: visit.state, pinned: visit.pinned, inspections: visit.inspections, note: visit.note },
    ...{ findings: visit.findings, parts: visit.used, version: visit.version, updatedBy: visit.updatedBy },
    updatedAt: new Date(visit.updatedAtMs).toISOString(),
  };
}
