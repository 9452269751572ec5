import type { SignalId } from '@tallybay/decode';
import type { VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import { median, percentile } from '../stats/descriptive.js';
import { type ColdStart, coldStarts } from './cold-starts.js';

const MS_PER_HOUR = 3_600_000;
const MS_PER_DAY = 24 * MS_PER_HOUR;

/** The middle of what neighbours read, and how far they stand apart [K]. */
export interface ClassReading {
  valueC: number;
  /** Of the middle half for a night; for how a sensor sits, half of them are this close to the middle, whatever a bad one reads. */
  spreadK: number;
}

/** What other vehicles of the class tell of their cold starts; null with too few of them. */
export interface ClassAir {
  /** What the signal read about an instant; in those without it, the middle of the sensors they have. */
  at(vehicleId: string, signal: SignalId, startedMs: number): ClassReading | null;
  /** How far the signal usually stands above another sensor of the same vehicle. */
  above(vehicleId: string, signal: SignalId, other: SignalId): ClassReading | null;
}

export const NO_CLASS_AIR: ClassAir = { at: () => null, above: () => null };

/**
 * A vehicle with few temperature sensors has little of its own to hold one against, but its neighbours stood in the same
 * night: each gives its start nearest in time, within the rule's days and about the same hour of the day. It gives what the
 * same sensor read, since one may sit where it is warmer than the air in every vehicle of a class; how it sits beside
 * another needs no common night.
 */
export function classAir(members: readonly VehicleFacts[], rule: SensorRule): ClassAir {
  const { vehicles, pairs, withinHours, hourOfDay } = rule.air.ofClass;
  const withinMs = withinHours * MS_PER_HOUR;
  const known = members.map((facts) => ({
    vehicleId: facts.vehicle.id,
    starts: coldStarts(facts, rule, Number.POSITIVE_INFINITY).filter(({ first }) => Object.keys(first).length > 0),
  }));
  const nearest = (starts: readonly ColdStart[], startedMs: number): ColdStart | null => {
    let best: ColdStart | null = null;
    let bestMs = withinMs;
    for (let i = firstFrom(starts, startedMs - withinMs); i < starts.length; i++) {
      const apartMs = starts[i]!.startedMs - startedMs;
      if (apartMs > withinMs) break;
      const ofDay = Math.abs(apartMs) % MS_PER_DAY;
      if (Math.min(ofDay, MS_PER_DAY - ofDay) > hourOfDay * MS_PER_HOUR || Math.abs(apartMs) > bestMs) continue;
      // Of two equally near, the earlier one.
      if (best && Math.abs(apartMs) === bestMs) continue;
      [best, bestMs] = [starts[i]!, Math.abs(apartMs)];
    }
    return best;
  };
  // A class is asked of the same two sensors at every start of every vehicle.
  const pairings = kept<Map<string, number>>();
  const readings = kept<ClassReading | null>();
  /** How far one sensor usually stands above the other, by vehicle. */
  const usualApart = (signal: SignalId, other: SignalId) =>
    pairings(`${signal} ${other}`, () => {
      const rows = known.flatMap(({ vehicleId, starts }) => {
        const apart = starts.flatMap(({ first }) => differenceOf(first[signal], first[other]));
        return apart.length > 0 ? [[vehicleId, median(apart)] as const] : [];
      });
      return new Map(rows);
    });
  return {
    at: (vehicleId, signal, startedMs) => {
      const values = known.flatMap((other) => {
        const start = other.vehicleId === vehicleId ? null : nearest(other.starts, startedMs);
        return start ? [start.first[signal] ?? median(Object.values(start.first))] : [];
      });
      if (values.length < vehicles) return null;
      return { valueC: median(values), spreadK: percentile(values, 0.75) - percentile(values, 0.25) };
    },
    above: (vehicleId, signal, other) =>
      readings(`${vehicleId} ${signal} ${other}`, () => {
        const apart = usualApart(signal, other);
        return readingOf(
          [...apart].flatMap(([id, value]) => (id === vehicleId ? [] : [value])),
          pairs,
        );
      }),
  };
}

function readingOf(values: readonly number[], atLeast: number): ClassReading | null {
  if (values.length < atLeast) return null;
  const middle = median(values);
  return { valueC: middle, spreadK: median(values.map((value) => Math.abs(value - middle))) };
}

/** Keeps what was computed for a key. */
function kept<T>(): (key: string, compute: () => T) => T {
  const known = new Map<string, T>();
  return (key, compute) => {
    if (!known.has(key)) known.set(key, compute());
    return known.get(key)!;
  };
}

const differenceOf = (one: number | undefined, other: number | undefined): number[] =>
  one === undefined || other === undefined ? [] : [one - other];

/** Index of the first start at or after an instant; starts are in order. */
function firstFrom(starts: readonly ColdStart[], ms: number): number {
  let [low, high] = [0, starts.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (starts[middle]!.startedMs < ms) low = middle + 1;
    else high = middle;
  }
  return low;
}
