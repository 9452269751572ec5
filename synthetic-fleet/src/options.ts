import { addWeeks, parseWeek, weeksBetween } from './calendar.js';

/** What a caller may ask of the generator. Every field has a default; `seed` and these fields decide every byte. */
export interface FleetOptions {
  seed?: number | string;
  vehicles?: number;
  weeks?: number;
  /** First ISO week, e.g. `2026-W36`. */
  start?: string;
  /** ISO week whose weather and duties the first week has, the next week those of the next; null = its own. */
  likeWeek?: string | null;
  /** Rows per second that every recorder writes (10, 5, 2 or 1), or `mixed`: each recorder its own rate. */
  rateHz?: number | 'mixed';
  /** Multiplies the number of drives a week and their length: 1 is a working week, about 4 engine hours a vehicle. */
  scale?: number;
  /** Longest drive in minutes. */
  maxDriveMinutes?: number;
  /** Most channels in one log, 8 to 90. */
  maxChannels?: number;
  /** Sensors without noise and with fine steps, to tell what the recorder loses from what the sensor loses. */
  idealSensors?: boolean;
}

export type ResolvedOptions = Required<FleetOptions>;

/** A working district: 10 rows a second, drives of 10 minutes to 4 hours. About 45 MB of CSV a vehicle and week. */
export const fullFleet: ResolvedOptions = {
  seed: 1,
  vehicles: 24,
  weeks: 3,
  start: '2026-W36',
  likeWeek: null,
  rateHz: 10,
  scale: 1,
  maxDriveMinutes: 240,
  maxChannels: 90,
  idealSensors: false,
};

/** The same district, small enough to generate, ingest and rank in about two minutes on two cores. */
export const demoFleet: ResolvedOptions = {
  ...fullFleet,
  // Late summer, whenever it is dated: its planted faults show in the heat.
  likeWeek: '2026-W36',
  rateHz: 'mixed',
  scale: 0.55,
  maxDriveMinutes: 60,
  maxChannels: 48,
};

export const PRESETS = { full: fullFleet, demo: demoFleet } as const;

const RATES = [10, 5, 2, 1];

/** Fills in defaults; throws RangeError with the value and the limit where one is outside what can be generated. */
export function resolveOptions(options: FleetOptions, base: ResolvedOptions = fullFleet): ResolvedOptions {
  const given = Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined));
  const resolved: ResolvedOptions = { ...base, ...given };
  parseWeek(resolved.start);
  if (resolved.likeWeek !== null) parseWeek(resolved.likeWeek);
  within('vehicles', resolved.vehicles, 1, 100_000);
  within('weeks', resolved.weeks, 1, 520);
  if (!Number.isInteger(resolved.vehicles) || !Number.isInteger(resolved.weeks))
    throw new RangeError(`vehicles ${resolved.vehicles} and weeks ${resolved.weeks} must be whole numbers`);
  within('scale', resolved.scale, 0.05, 10);
  within('maxDriveMinutes', resolved.maxDriveMinutes, 10, 240);
  within('maxChannels', resolved.maxChannels, 8, 90);
  if (resolved.rateHz !== 'mixed' && !RATES.includes(resolved.rateHz))
    throw new RangeError(`rateHz ${resolved.rateHz} is not one of ${RATES.join(', ')} or mixed`);
  return resolved;
}

export function weeksOf(options: Pick<ResolvedOptions, 'start' | 'weeks'>): string[] {
  return Array.from({ length: options.weeks }, (_, index) => addWeeks(options.start, index));
}

/** Weeks by which weather and duties are older than the dates. */
export function weeksShifted({ start, likeWeek }: Pick<ResolvedOptions, 'start' | 'likeWeek'>): number {
  return likeWeek === null ? 0 : weeksBetween(likeWeek, start);
}

function within(name: string, value: number, low: number, high: number): void {
  if (!(value >= low && value <= high)) throw new RangeError(`${name} ${value} is outside ${low} to ${high}`);
}
