import type { VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import { median, percentile } from '../stats/descriptive.js';
import { coldStarts } from './cold-starts.js';

const MS_PER_HOUR = 3_600_000;
const MS_PER_DAY = 24 * MS_PER_HOUR;

/** The air about an instant, as other vehicles of the class found it when they were started cold. */
export interface ClassAir {
  at(vehicleId: string, startedMs: number): { valueC: number; spreadK: number } | null;
}

export const NO_CLASS_AIR: ClassAir = { at: () => null };

/**
 * A vehicle with one temperature sensor has nothing of its own to hold it against, but its neighbours stood in the same
 * night: each gives its start nearest in time, within the rule's days and about the same hour of the day.
 * @returns the middle of the neighbours and the spread of their middle half; null with too few of them
 */
export function classAir(members: readonly VehicleFacts[], rule: SensorRule): ClassAir {
  const { vehicles, withinHours, hourOfDay } = rule.air.ofClass;
  const known = members.map((facts) => ({
    vehicleId: facts.vehicle.id,
    starts: coldStarts(facts, rule).flatMap(({ startedMs, first }) => {
      const values = Object.values(first);
      return values.length > 0 ? [{ startedMs, valueC: median(values) }] : [];
    }),
  }));
  const near = (ms: number, startedMs: number) => {
    const apartMs = Math.abs(ms - startedMs);
    const ofDay = apartMs % MS_PER_DAY;
    return apartMs <= withinHours * MS_PER_HOUR && Math.min(ofDay, MS_PER_DAY - ofDay) <= hourOfDay * MS_PER_HOUR;
  };
  return {
    at: (vehicleId, startedMs) => {
      const values = known
        .filter((other) => other.vehicleId !== vehicleId)
        .flatMap(({ starts }) => {
          const usable = starts.filter((start) => near(start.startedMs, startedMs));
          const apart = (ms: number) => Math.abs(ms - startedMs);
          return usable.sort((a, b) => apart(a.startedMs) - apart(b.startedMs))[0]?.valueC ?? [];
        });
      if (values.length < vehicles) return null;
      return { valueC: median(values), spreadK: percentile(values, 0.75) - percentile(values, 0.25) };
    },
  };
}
