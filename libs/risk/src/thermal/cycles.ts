import { rainflow } from '../stats/rainflow.js';

/** What a drive did to one temperature: from where it started to where it peaked [°C]. */
export interface DriveRise {
  startedMs: number;
  firstC: number;
  maxC: number;
  /** At the drive's end; used for the newest drive only, as the next one's start is lower still. Null = not known. */
  lastC: number | null;
}

export interface CycleRule {
  /** Smaller ranges tire nothing: fuel stops, town driving [K]. */
  leastRangeK: number;
  /** Width of the ranges that cycles are listed by [K]. */
  stepK: number;
}

/** Judgement, no source: a start from cold is 60 K and more, a warm start after a break 20 to 40 K. */
export const CYCLE_RULE: CycleRule = { leastRangeK: 20, stepK: 20 };

export interface ThermalCycles {
  /** Drives that carried the temperature. */
  drives: number;
  /** Full cycles; half ones count 0.5. */
  cycles: number;
  largestK: number;
  /** Ascending ranges [fromK, fromK + step) that occurred. */
  ranges: { fromK: number; cycles: number }[];
}

/**
 * Thermal cycles of a run of drives: start, peak, start, peak, … counted by rainflow (ASTM E1049-85, 5.4.4). What happened
 * within a drive below its peak is not seen; that takes samples and tires parts far less than cooling down between drives.
 */
export function thermalCycles(drives: readonly DriveRise[], rule: CycleRule): ThermalCycles {
  const ordered = [...drives].sort((a, b) => a.startedMs - b.startedMs || a.maxC - b.maxC);
  const end = ordered.at(-1)?.lastC ?? null;
  const series = [...ordered.flatMap(({ firstC, maxC }) => [firstC, maxC]), ...(end === null ? [] : [end])];
  const counted = rainflow(series).filter(({ range }) => range >= rule.leastRangeK);
  const ranges = new Map<number, number>();
  for (const { range, count } of counted) {
    const fromK = Math.floor(range / rule.stepK) * rule.stepK;
    ranges.set(fromK, (ranges.get(fromK) ?? 0) + count);
  }
  return {
    drives: ordered.length,
    cycles: counted.reduce((sum, { count }) => sum + count, 0),
    largestK: counted.reduce((most, { range }) => Math.max(most, range), 0),
    ranges: [...ranges].sort(([a], [b]) => a - b).map(([fromK, cycles]) => ({ fromK, cycles })),
  };
}
