import type { Fleet, MonitorId, Vehicle } from '@tallybay/contracts';
import { putRows } from '../../unit/libs/lake/lake-builder.js';

const DAY_MS = 86_400_000;
/** A Friday noon; the fleet below was read until the day before. */
export const NOW_MS = Date.parse('2026-10-09T18:00:00Z');
/** Weeks in which every vehicle was read once. */
const WEEKS = 20;
const WARM_UPS_A_WEEK = 9;

/** Weeks count back from now: 0 is the newest reading. */
interface Story {
  id: string;
  vehicleClass: string;
  inspectionDue?: string;
  /** Code -> weeks in which it is confirmed. */
  codes?: Record<string, (weeksAgo: number) => boolean>;
  /** Cleared just before these readings. */
  clearedBefore?: readonly number[];
}

const from = (weeksAgo: number) => (week: number) => week <= weeksAgo;
const stories = (count: number, story: (index: number) => Story): Story[] =>
  Array.from({ length: count }, (_, index) => story(index));
const id = (number: number) => `KV-${number}`;

/**
 * Twenty vans and eight diesels. Vans 201 to 204 have P0171 with P0300; 211 to 215 got P0455 in the last four weeks; 220
 * has P0420 cleared again and again, the last time before its inspection. The diesels were cleared once each, so that
 * there is a history of how their monitors complete.
 */
const STORIES: readonly Story[] = [
  ...stories(4, (index) => ({
    ...{ id: id(201 + index), vehicleClass: 'van', codes: { P0171: from(12), P0300: from(10) } },
  })),
  ...stories(5, (index) => ({ id: id(211 + index), vehicleClass: 'van', codes: { P0455: from(2) } })),
  ...stories(10, (index) => ({ id: id(231 + index), vehicleClass: 'van' })),
  {
    ...{ id: id(220), vehicleClass: 'van', inspectionDue: '2026-10-14', clearedBefore: [12, 8, 4, 0] },
    codes: { P0420: (week) => ![12, 8, 4, 0].includes(week) },
  },
  ...stories(7, (index) => ({ id: id(301 + index), vehicleClass: 'diesel', clearedBefore: [6 + index] })),
  { id: id(310), vehicleClass: 'diesel', clearedBefore: [0], inspectionDue: '2026-11-05' },
];

const MONITORS: Record<string, readonly { id: MonitorId; needsWarmUps: number }[]> = {
  van: [
    { id: 'catalyst', needsWarmUps: 10 },
    { id: 'evap', needsWarmUps: 30 },
    { id: 'o2_sensor', needsWarmUps: 5 },
  ],
  diesel: [
    { id: 'nmhc_catalyst', needsWarmUps: 12 },
    { id: 'pm_filter', needsWarmUps: 40 },
  ],
};

export const CODES_FLEET: Fleet = {
  name: 'Kestrel Valley Water District',
  depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
  vehicles: STORIES.map(
    ({ id, vehicleClass, inspectionDue }): Vehicle => ({
      ...{ id, vehicleClass, depot: 'north', modelYear: 2016, fuel: vehicleClass === 'diesel' ? 'diesel' : 'gas' },
      ...(inspectionDue ? { inspectionDue, route: 'Hill pumps round' } : {}),
    }),
  ),
  assignments: [],
  profiles: [],
};

/** Puts the fleet's snapshots into a lake. */
export function putCodesFleet(lake: string): void {
  for (const story of STORIES) putStory(lake, story);
}

function putStory(lake: string, story: Story): void {
  const key = { vehicle: story.id, upload: `s-${story.id}` };
  const readings = Array.from({ length: WEEKS }, (_, index) => readingOf(story, WEEKS - 1 - index));
  putRows(
    lake,
    'snapshots',
    key,
    readings.map(({ snapshot }) => snapshot),
  );
  putRows(
    lake,
    'codes',
    key,
    readings.flatMap(({ codes }) => codes),
  );
  putRows(
    lake,
    'monitors',
    key,
    readings.flatMap(({ monitors }) => monitors),
  );
}

function readingOf({ vehicleClass, codes = {}, clearedBefore = [] }: Story, weeksAgo: number) {
  const time = NOW_MS - DAY_MS - weeksAgo * 7 * DAY_MS;
  const since = Math.min(...clearedBefore.map((week) => week - weeksAgo).filter((weeks) => weeks >= 0));
  const cleared = Number.isFinite(since);
  // Just after a clear a few warm-ups have gone by; without one the counter stands high.
  const warmUps = cleared ? 4 + since * WARM_UPS_A_WEEK : 60 + (WEEKS - weeksAgo) * WARM_UPS_A_WEEK;
  const present = Object.entries(codes).filter(([, has]) => has(weeksAgo));
  return {
    snapshot: {
      ...{ time, odometer_km: 80_000 + (WEEKS - weeksAgo) * 400, code_count: present.length, ignition: 'spark' },
      ...{ lamp_on: present.length > 0, warm_ups_since_clear: warmUps },
      ...{ read_pending: true, read_confirmed: true, read_permanent: true, read_monitors: true },
    },
    codes: present.map(([code]) => ({ time, code, status: 'confirmed', module: 'engine' })),
    monitors: (MONITORS[vehicleClass] ?? []).map(({ id: monitor, needsWarmUps }) => ({
      ...{ time, monitor, supported: true, complete: !cleared || warmUps >= needsWarmUps },
    })),
  };
}
