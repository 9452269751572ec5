import type { SignalId } from '@tallybay/decode';
import type { VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import { median, percentile } from '../stats/descriptive.js';
import { type ColdStart, coldStarts } from './cold-starts.js';

const MS_PER_HOUR = 3_600_000;
const MS_PER_DAY = 24 * MS_PER_HOUR;

/** What a signal read about an instant in other vehicles of the class that were started cold. */
export interface ClassAir {
  at(vehicleId: string, signal: SignalId, startedMs: number): { valueC: number; spreadK: number } | null;
}

export const NO_CLASS_AIR: ClassAir = { at: () => null };

/**
 * A vehicle with few temperature sensors has little of its own to hold one against, but its neighbours stood in the same
 * night: each gives its start nearest in time, within the rule's days and about the same hour of the day. It gives what the
 * same sensor read, since one may sit where it is warmer than the air in every vehicle of a class; without that sensor, the
 * middle of those it has.
 * @returns the middle of the neighbours and the spread of their middle half; null with too few of them
 */
export function classAir(members: readonly VehicleFacts[], rule: SensorRule): ClassAir {
  const { vehicles, withinHours, hourOfDay } = rule.air.ofClass;
  const known = members.map((facts) => ({
    vehicleId: facts.vehicle.id,
    starts: coldStarts(facts, rule).filter(({ first }) => Object.keys(first).length > 0),
  }));
  const near = (ms: number, startedMs: number) => {
    const apartMs = Math.abs(ms - startedMs);
    const ofDay = apartMs % MS_PER_DAY;
    return apartMs <= withinHours * MS_PER_HOUR && Math.min(ofDay, MS_PER_DAY - ofDay) <= hourOfDay * MS_PER_HOUR;
  };
  return {
    at: (vehicleId, signal, startedMs) => {
      const values = known
        .filter((other) => other.vehicleId !== vehicleId)
        .flatMap(({ starts }) => {
          const usable = starts.filter((start) => near(start.startedMs, startedMs));
          const apart = (ms: number) => Math.abs(ms - startedMs);
          const nearest = usable.sort((a, b) => apart(a.startedMs) - apart(b.startedMs))[0];
          return nearest ? [read(nearest, signal)] : [];
        });
      if (values.length < vehicles) return null;
      return { valueC: median(values), spreadK: percentile(values, 0.75) - percentile(values, 0.25) };
    },
  };
}

const read = ({ first }: ColdStart, signal: SignalId): number => first[signal] ?? median(Object.values(first));
