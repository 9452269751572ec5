import type { VehicleHeat } from '../exposure/vehicle-heat.js';
import type { EarlierDriveFact, VehicleFacts } from '../facts.js';
import { rounded } from '../figures.js';
import type { RuleSet } from '../rules/rule-set.js';
import { HEAT_SIGNALS, type HeatSignal } from '../rules/stages.js';
import { type DriveRise, type ThermalCycles, thermalCycles } from '../thermal/cycles.js';
import { tripsOf, weekGlances } from '../warning/trips.js';

/**
 * Thermal cycles of each believed temperature, of the week alone and with the weeks before that the facts reach back to;
 * for the row's inputs. They inform and do not enter the score. Signals without data are absent.
 */
export function cycleInputs(facts: VehicleFacts, heat: VehicleHeat, rules: RuleSet): Record<string, unknown> {
  const week = weekGlances(facts);
  const lasts = lastValues(facts);
  const rows = HEAT_SIGNALS.flatMap((signal) => {
    if (!heat.signals.some((row) => row.signal === signal && row.state === 'ok')) return [];
    const count = (drives: readonly EarlierDriveFact[]) =>
      published(thermalCycles(risesOf(drives, signal, lasts), rules.cycles));
    const both = { week: count(week), withEarlierWeeks: count([...facts.earlierDrives, ...week]) };
    return [[signal, both] as const];
  });
  return Object.fromEntries(rows);
}

type LastValues = ReadonlyMap<string, number>;
const lastKey = (driveId: string, signal: HeatSignal): string => JSON.stringify([driveId, signal]);

/** Two channels of one signal: the higher, as everywhere. */
function lastValues(facts: VehicleFacts): LastValues {
  const lasts = new Map<string, number>();
  for (const { driveId, signal, last } of facts.signals) {
    if (last === null) continue;
    const key = lastKey(driveId, signal as HeatSignal);
    lasts.set(key, Math.max(last, lasts.get(key) ?? last));
  }
  return lasts;
}

/** One rise a trip: a drive that was uploaded in parts is one start, not two. */
function risesOf(drives: readonly EarlierDriveFact[], signal: HeatSignal, lasts: LastValues): DriveRise[] {
  return tripsOf(drives.filter((drive) => drive.signals[signal] !== undefined)).map((trip) => {
    const glances = trip.map((drive) => drive.signals[signal]!);
    return {
      startedMs: trip[0]!.startedMs,
      firstC: glances[0]!.first,
      maxC: Math.max(...glances.map(({ max }) => max)),
      lastC: lasts.get(lastKey(trip.at(-1)!.driveId, signal)) ?? null,
    };
  });
}

const published = ({ drives, cycles, largestK, ranges }: ThermalCycles) => ({
  ...{ drives, cycles, largestK: rounded(largestK, 2), ranges },
});
