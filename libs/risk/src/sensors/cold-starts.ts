import type { SignalId } from '@tallybay/decode';
import type { VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import { weekGlances } from '../warning/trips.js';

const MS_PER_HOUR = 3_600_000;
const MS_PER_DAY = 24 * MS_PER_HOUR;

/** Sensors that read the air's temperature after a long stop. Exhaust and charge air are near it too but cool or heat at once. */
export const SOAKED: readonly SignalId[] = [
  'coolant_temp_c',
  'engine_oil_temp_c',
  'trans_fluid_temp_c',
  'intake_air_temp_c',
  'ambient_temp_c',
];

export const FLUIDS: readonly SignalId[] = ['coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c'];

/** A lone fluid has nothing that proves the engine was cold: neighbours say what the air was, and how its sensors sit. */
export const needsNeighbours = (recorded: ReadonlySet<string>): boolean =>
  FLUIDS.filter((signal) => recorded.has(signal)).length < 2;

/** A start after a stop long enough for everything to take the temperature of the air. */
export interface ColdStart {
  startedMs: number;
  /** Engine off before it, as far as recorded [h]. */
  soakHours: number;
  first: Partial<Record<SignalId, number>>;
  /** Highest value of the drive less its first one [K]. */
  warmedK: Partial<Record<SignalId, number>>;
}

/**
 * Cold starts of the last days, by default those that the rule looks back, oldest first. The first known drive is none: nobody
 * saw the stop before it.
 */
export function coldStarts(facts: VehicleFacts, rule: SensorRule, lookBackDays = rule.soakLookBackDays): ColdStart[] {
  const fromMs = facts.toMs - lookBackDays * MS_PER_DAY;
  const drives = [...facts.earlierDrives, ...weekGlances(facts)].sort((a, b) => a.startedMs - b.startedMs);
  let lastEndMs: number | null = null;
  return drives.flatMap(({ startedMs, endedMs, signals }): ColdStart[] => {
    const soakHours = lastEndMs === null ? 0 : (startedMs - lastEndMs) / MS_PER_HOUR;
    lastEndMs = Math.max(lastEndMs ?? endedMs, endedMs);
    if (soakHours < rule.soakHours || startedMs < fromMs) return [];
    const known = SOAKED.flatMap((id) => (signals[id] ? [[id, signals[id]] as const] : []));
    const first = Object.fromEntries(known.map(([id, glance]) => [id, glance.first]));
    const warmedK = Object.fromEntries(known.map(([id, { first: from, max }]) => [id, max - from]));
    return [{ startedMs, soakHours, first, warmedK }];
  });
}
