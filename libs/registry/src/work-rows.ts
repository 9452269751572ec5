import type { Inspection, WorkState } from '@tallybay/contracts';
import type { RegistryTables } from './schema.js';

/** What an inspection is, apart from where it stands. */
export type InspectionDocument = Pick<
  Inspection,
  'label' | 'why' | 'minutes' | 'skills' | 'features' | 'earliest' | 'latest' | 'costPerDay' | 'latePerDay'
>;

/** Work of a visit on one day: minutes of the depot's clock from midnight. */
export interface VisitPart {
  day: string;
  fromMinute: number;
  minutes: number;
}

export interface VisitDocument {
  vehicleClass: string;
  person: string | null;
  parts: VisitPart[];
  minutes: number;
  /** Ids of the inspections it holds, with their kinds and the first reason of each, as they were when it was planned. */
  inspections: { id: string; kind: string; label: string; why: string[] }[];
  note: string | null;
  findings: string | null;
  used: { name: string; count: number }[];
  /** Bays that it was moved away from: their calendars must let go of it. */
  formerBays?: string[];
  /** Depots likewise. */
  formerDepots?: string[];
  /** Days that it had after its last one before it became shorter: calendars must let go of them, each at its place. */
  formerParts?: VisitPart[];
}

export interface StoredVisit extends VisitDocument {
  id: string;
  vehicle: string;
  depot: string;
  bay: string;
  day: string;
  lastDay: string;
  state: WorkState;
  pinned: boolean;
  /** Counts changes that a calendar must take over (RFC 5545, SEQUENCE). */
  sequence: number;
  version: number;
  createdAtMs: number;
  updatedAtMs: number;
  updatedBy: string | null;
  cancelledAtMs: number | null;
  doneAtMs: number | null;
}

export type StoredInspection = Inspection & { updatedAtMs: number };

export function visitFromRow(row: RegistryTables['work_visits']): StoredVisit {
  return {
    ...(JSON.parse(row.document) as VisitDocument),
    ...{ id: row.id, vehicle: row.vehicle, depot: row.depot, bay: row.bay, day: row.day, lastDay: row.last_day },
    ...{ state: row.state as WorkState, pinned: row.pinned === 1, sequence: row.sequence, version: row.version },
    ...{ createdAtMs: row.created_at_ms, updatedAtMs: row.updated_at_ms, updatedBy: row.updated_by },
    ...{ cancelledAtMs: row.cancelled_at_ms, doneAtMs: row.done_at_ms },
  };
}

export function documentOf(visit: VisitDocument): string {
  const { vehicleClass, person, parts, minutes, inspections, note, findings, used } = visit;
  const { formerBays = [], formerDepots = [], formerParts = [] } = visit;
  const former = { formerBays, formerDepots, formerParts };
  return JSON.stringify({ vehicleClass, person, parts, minutes, inspections, note, findings, used, ...former });
}

export const inspectionFromRow = (row: RegistryTables['work_inspections']): StoredInspection => ({
  ...(JSON.parse(row.document) as InspectionDocument),
  ...{ id: row.id, vehicle: row.vehicle, kind: row.kind, state: row.state as WorkState, visit: row.visit },
  ...{ note: row.note, version: row.version, updatedAtMs: row.updated_at_ms },
  updatedAt: new Date(row.updated_at_ms).toISOString(),
});

/** What calendars that know a visit must let go of once it stands as `next`. */
export function formerOf(
  now: StoredVisit,
  next: Pick<StoredVisit, 'bay' | 'depot' | 'parts'>,
): Required<Pick<VisitDocument, 'formerBays' | 'formerDepots' | 'formerParts'>> {
  const left = (before: readonly string[], was: string, is: string) =>
    [...new Set([...before, was])].filter((place) => place !== is);
  return {
    formerBays: left(now.formerBays ?? [], now.bay, next.bay),
    formerDepots: left(now.formerDepots ?? [], now.depot, next.depot),
    formerParts: [...now.parts, ...(now.formerParts ?? [])].slice(next.parts.length),
  };
}
