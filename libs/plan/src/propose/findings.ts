import type { FleetReadiness, InspectionSource, RankedVehicle, Ranking, Vehicle } from '@tallybay/contracts';
import { addDays, daysBetween } from './dates.js';

/** One thing that was found about a vehicle. */
export interface Finding {
  vehicle: string;
  source: InspectionSource;
  text: string;
  /** 0..1 */
  weight: number;
  evidence: readonly { kind: string; id: string }[];
  /** Day by which it must be done; absent = the kind's own span. */
  dueBy?: string;
  /** Only this kind is asked for: a service interval belongs to one. */
  kind?: string;
}

/** Monitors need some days of driving after a repair before an inspection can be passed; common practice, no source. */
const DRIVE_BEFORE_INSPECTION_DAYS = 10;
/** An inspection is planned when its date is this near. */
const DUE_WITHIN_DAYS = 45;
/** Each return of a code weighs as much again, up to 1. */
const RETURN_WEIGHT = 0.4;
const SENSOR_WEIGHT = 0.5;

/** Kept by vehicle, not by recording. */
const quality = (vehicle: string) => [{ kind: 'quality', id: vehicle }];
const readiness = (vehicle: string) => [{ kind: 'readiness', id: vehicle }];

/** Reasons of the newest ranking, and the sensors that it does not believe. */
export function rankingFindings(ranking: Ranking | null): Finding[] {
  if (!ranking) return [];
  const reasons = ranking.ranked.flatMap((row) => reasonsOf(row));
  const unranked = ranking.unranked.flatMap(({ vehicle, causes }) =>
    causes
      .filter(({ code }) => code === 'bad_sensor')
      .map(
        ({ text }): Finding => ({ vehicle, source: 'sensor', text, weight: SENSOR_WEIGHT, evidence: quality(vehicle) }),
      ),
  );
  return [...reasons, ...unranked];
}

function reasonsOf(row: RankedVehicle): Finding[] {
  const heat = row.inputs.heat as { sensorFindings?: { text: string }[] } | null | undefined;
  const sensors = (heat?.sensorFindings ?? []).map(
    ({ text }): Finding => ({
      vehicle: row.vehicle,
      source: 'sensor',
      text,
      weight: SENSOR_WEIGHT,
      evidence: quality(row.vehicle),
    }),
  );
  const reasons = row.reasons
    .filter(({ component }) => component !== 'readiness')
    .map(
      ({ component, text, weight, evidence }): Finding => ({
        ...{ vehicle: row.vehicle, source: component === 'heat' ? 'heat' : 'codes', text, weight, evidence },
      }),
    );
  return [...reasons, ...sensors];
}

/** Codes that came back and are there now. */
export function returningFindings(returning: FleetReadiness['returning']): Finding[] {
  return returning.flatMap(({ code, text, where }) =>
    where
      .filter(({ active }) => active)
      .map(
        ({ vehicle, returns, lastReturn }): Finding => ({
          ...{ vehicle, source: 'returning_code', evidence: [{ kind: 'code', id: code }] },
          text: `${code} (${text}) came back ${returns === 1 ? 'once' : `${returns} times`}, last on ${lastReturn.slice(0, 10)}`,
          weight: Math.min(1, RETURN_WEIGHT * (1 + returns)),
        }),
      ),
  );
}

/** Due inspections, and verdicts that would not pass, by the programme that counts for the fleet. */
export function readinessFindings(rows: FleetReadiness['vehicles'], programme: string, today: string): Finding[] {
  return rows.flatMap((row) => {
    const { vehicle, inspectionDue } = row;
    if (inspectionDue === null || daysBetween(today, inspectionDue) > DUE_WITHIN_DAYS) return [];
    const due: Finding = {
      ...{ vehicle, source: 'inspection_due', weight: 1, evidence: readiness(vehicle), dueBy: inspectionDue },
      text: `The emissions inspection ${inspectionDue < today ? 'was' : 'is'} due on ${inspectionDue}`,
    };
    const found = row.verdicts.find((item) => item.programme === programme);
    if (found?.verdict !== 'would_fail' && found?.verdict !== 'would_be_refused') return [due];
    const text = `It ${found.verdict === 'would_fail' ? 'would fail' : 'would be refused'}: ${found.why.join(' ')}`;
    const dueBy = addDays(inspectionDue, -DRIVE_BEFORE_INSPECTION_DAYS);
    return [due, { vehicle, source: 'readiness', text, weight: 1, evidence: readiness(vehicle), dueBy }];
  });
}

/** Readings of odometer and engine hours of one vehicle, any order. */
export interface UsageReading {
  day: string;
  engineHours: number | null;
  odometerKm: number | null;
}

export interface ServiceInput {
  vehicle: Vehicle;
  readings: readonly UsageReading[];
  /** Last day each kind was done, by kind. */
  done: ReadonlyMap<string, string>;
}

/**
 * When a service is due: by days since it was last done, by engine hours and by distance since then, extrapolated at the
 * vehicle's own rate. Where it was never recorded as done, counting starts at the first reading; without readings nothing
 * is said.
 */
export function serviceFinding(
  { vehicle, readings, done }: ServiceInput,
  kind: { id: string; every: { days?: number | undefined; engineHours?: number | undefined; km?: number | undefined } },
  at: { today: string; horizonDays: number },
): Finding | null {
  const order = [...readings].sort((a, b) => (a.day < b.day ? -1 : 1));
  const last = done.get(kind.id);
  const since = last ?? order[0]?.day;
  if (since === undefined) return null;
  const dues = [
    kind.every.days === undefined
      ? null
      : { day: addDays(since, Math.floor(kind.every.days)), text: `${kind.every.days} days` },
    counterDue(order, since, 'engineHours', kind.every.engineHours, 'engine hours'),
    counterDue(order, since, 'odometerKm', kind.every.km, 'km'),
  ].filter((due) => due !== null);
  const first = dues.sort((a, b) => (a.day < b.day ? -1 : 1))[0];
  if (!first || daysBetween(at.today, first.day) > at.horizonDays) return null;
  const from = last === undefined ? `the first reading on ${since}` : `the last one on ${since}`;
  const text = `Service after ${first.text} since ${from}: due on ${first.day}`;
  return { vehicle: vehicle.id, source: 'calendar', text, weight: 1, evidence: [], dueBy: first.day, kind: kind.id };
}

function counterDue(
  readings: readonly UsageReading[],
  since: string,
  counter: 'engineHours' | 'odometerKm',
  every: number | undefined,
  unit: string,
): { day: string; text: string } | null {
  if (every === undefined) return null;
  const known = readings.flatMap((row) => (row[counter] === null ? [] : [{ day: row.day, value: row[counter] }]));
  const start = known.findLast(({ day }) => day <= since) ?? known.find(({ day }) => day >= since);
  const newest = known.at(-1);
  if (!start || !newest) return null;
  const used = newest.value - start.value;
  const days = daysBetween(start.day, newest.day);
  if (used < 0) return null;
  const text = `${every} ${unit}`;
  if (used >= every) return { day: newest.day, text };
  if (days <= 0 || used === 0) return null;
  return { day: addDays(newest.day, Math.ceil(((every - used) / used) * days)), text };
}
