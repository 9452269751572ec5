import type { VehicleFacts } from '../facts.js';
import type { SensorRule } from '../rules/sensors.js';
import type { HeatSignal } from '../rules/stages.js';
import { median } from '../stats/descriptive.js';
import { robustScale } from '../stats/regression.js';
import type { ClassAir } from './class-air.js';
import { type Compared, comparedStarts, leftOverK } from './cold-compare.js';
import { coldStarts, SOAKED } from './cold-starts.js';

/** What a sensor reads too high about an instant [K]; 0 where nothing says so. */
export type ColdOffsets = (signal: HeatSignal, ms: number) => number;

/**
 * A fluid that was cold with all the others cannot have been the warmest of them by much, so what it stood above every one of them,
 * at each of the cold starts nearest in time, is its sensor's. The least of these differences counts: a heater in use, or a drive
 * that nobody recorded, comes and goes. With air alone to compare with there must be as many starts as a finding needs, and the
 * warmth that a stop leaves is taken off first. No finding: too little to doubt the sensor, and too much to call heat.
 */
export function coldOffsets(facts: VehicleFacts, rule: SensorRule, classAir: ClassAir): ColdOffsets {
  const known = coldStarts(facts, rule, Number.POSITIVE_INFINITY);
  const bySignal = new Map<HeatSignal, Compared[]>();
  const startsOf = (signal: HeatSignal): Compared[] => {
    const compared = () => comparedStarts(known, { signal, facts, rule, classAir });
    const starts =
      bySignal.get(signal) ??
      (SOAKED.includes(signal) ? compared().filter(({ reference }) => reference !== 'class') : []);
    bySignal.set(signal, starts);
    return starts;
  };
  return (signal, ms) => {
    const starts = startsOf(signal);
    const near = nearest(starts, ms, rule);
    return Math.max(offsetOf(near, rule), riseOf(near, starts, rule));
  };
}

function nearest(starts: readonly Compared[], ms: number, { offset }: SensorRule): Compared[] {
  const apart = ({ startedMs }: Compared) => Math.abs(startedMs - ms);
  return [...starts].sort((a, b) => apart(a) - apart(b) || a.startedMs - b.startedMs).slice(0, offset.starts);
}

function offsetOf(starts: readonly Compared[], { air, offset }: SensorRule): number {
  const byAir = starts.some(({ reference }) => reference !== 'fluid');
  if (starts.length < (byAir ? air.starts : 1)) return 0;
  const least = Math.min(...starts.map((start) => aboveK(start, air)));
  return least >= offset.leastK ? least : 0;
}

/**
 * How far above its own usual place among the others it stood at all of the nearest starts: a drift too young to stand above
 * every one of them. Weak cooling does not show in an engine that is cold.
 */
function riseOf(near: readonly Compared[], all: readonly Compared[], { air, offset }: SensorRule): number {
  const firstMs = Math.min(...near.map(({ startedMs }) => startedMs));
  const before = all.filter(({ startedMs, reference }) => startedMs < firstMs && reference === near[0]!.reference);
  if (near.length < offset.starts || before.length < offset.starts) return 0;
  const usual = median(before.map(({ difference }) => difference));
  const scatter = robustScale(before.map(({ difference }) => difference - usual));
  const least = Math.min(
    ...near.map((start) => start.difference - usual - (start.reference === 'fluid' ? 0 : leftOverK(start, air))),
  );
  return least >= offset.leastK && least > offset.riseScales * scatter ? least : 0;
}

/** How far it stood above all others; nothing where these stand as far from each other, which only left-over warmth does. */
function aboveK(start: Compared, air: SensorRule['air']): number {
  const above = start.aboveAll - (start.reference === 'fluid' ? 0 : leftOverK(start, air));
  return above > start.spread ? above : 0;
}
