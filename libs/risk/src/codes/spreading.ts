import type { CodePatternRule } from '../rules/code-patterns.js';
import { benjaminiHochberg, binomialAtLeast } from '../stats/exact-tests.js';
import type { VehicleCodesFact } from './together.js';

const MS_PER_DAY = 86_400_000;

export interface SpreadPeriod {
  /** Vehicles that had the code for the first time in the period. */
  newVehicles: string[];
  /** Days in which vehicles of the class that never had it were under watch. */
  vehicleDays: number;
}

export interface SpreadingCode {
  code: string;
  vehicleClass: string;
  now: SpreadPeriod;
  before: SpreadPeriod;
  /** Rate now over rate before; null when nobody got it before. */
  ratio: number | null;
  p: number;
  adjusted: number;
}

interface Watch {
  vehicle: string;
  /** Watched from the first reading on; a code that was there already then is no news. */
  fromMs: number;
  toMs: number;
  /** First reading that showed it; null = never. */
  firstMs: number | null;
}

/**
 * Codes that more vehicles of a class get now than before. Counted are vehicles that have it for the first time, against the
 * vehicle-days under watch without it. Chance is held against it by the conditional test for two Poisson rates (Przyborowski
 * and Wilenski 1940): given all new vehicles of both periods, those of the newer one are binomial with its share of the
 * vehicle-days. Adjusted (Benjamini and Hochberg 1995) for all codes and classes with a new vehicle. Confirmed codes only.
 */
export function spreadingCodes(
  vehicles: readonly VehicleCodesFact[],
  asOfMs: number,
  rule: CodePatternRule['spreading'],
): SpreadingCode[] {
  const splitMs = asOfMs - rule.nowDays * MS_PER_DAY;
  const startMs = splitMs - rule.beforeDays * MS_PER_DAY;
  const classes = Map.groupBy(vehicles, ({ vehicleClass }) => vehicleClass);
  const tested = [...classes].flatMap(([vehicleClass, members]) =>
    codesOf(members).flatMap((code) => {
      const watches = members.flatMap((member) => watchOf(member, code));
      const now = periodOf(watches, splitMs, asOfMs);
      const before = periodOf(watches, startMs, splitMs);
      const all = now.newVehicles.length + before.newVehicles.length;
      if (all === 0 || now.vehicleDays === 0 || before.vehicleDays === 0) return [];
      const share = now.vehicleDays / (now.vehicleDays + before.vehicleDays);
      const p = binomialAtLeast(now.newVehicles.length, all, share);
      return [{ code, vehicleClass, now, before, ratio: ratioOf(now, before), p }];
    }),
  );
  const adjusted = benjaminiHochberg(tested.map(({ p }) => p));
  return tested
    .map((row, index) => ({ ...row, adjusted: adjusted[index]! }))
    .filter((row) => row.now.newVehicles.length >= rule.leastVehicles && row.adjusted <= rule.level)
    .sort((a, b) => a.adjusted - b.adjusted || (a.code + a.vehicleClass < b.code + b.vehicleClass ? -1 : 1));
}

function codesOf(members: readonly VehicleCodesFact[]): string[] {
  const codes = members.flatMap(({ timelines }) =>
    timelines.filter(({ histories }) => histories.some(isConfirmed)).map(({ code }) => code),
  );
  return [...new Set(codes)].sort();
}

const isConfirmed = ({ status }: { status: string }): boolean => status === 'confirmed';

function watchOf({ vehicle, timelines, readMs }: VehicleCodesFact, code: string): Watch[] {
  const fromMs = readMs[0];
  const toMs = readMs.at(-1);
  if (fromMs === undefined || toMs === undefined) return [];
  const seen = timelines
    .filter((timeline) => timeline.code === code)
    .flatMap(({ histories }) => histories.filter(isConfirmed).map(({ firstSeenMs }) => firstSeenMs));
  const firstMs = seen.length > 0 ? Math.min(...seen) : null;
  return firstMs !== null && firstMs <= fromMs ? [] : [{ vehicle, fromMs, toMs: firstMs ?? toMs, firstMs }];
}

/** The period is (startMs, endMs]. */
function periodOf(watches: readonly Watch[], startMs: number, endMs: number): SpreadPeriod {
  const days = watches.reduce(
    (sum, { fromMs, toMs }) => sum + Math.max(0, Math.min(toMs, endMs) - Math.max(fromMs, startMs)) / MS_PER_DAY,
    0,
  );
  const fresh = watches.filter(({ firstMs }) => firstMs !== null && firstMs > startMs && firstMs <= endMs);
  return { newVehicles: fresh.map(({ vehicle }) => vehicle).sort(), vehicleDays: days };
}

const ratioOf = (now: SpreadPeriod, before: SpreadPeriod): number | null =>
  before.newVehicles.length === 0
    ? null
    : now.newVehicles.length / now.vehicleDays / (before.newVehicles.length / before.vehicleDays);
