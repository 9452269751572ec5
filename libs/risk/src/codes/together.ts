import type { CodePatternRule } from '../rules/code-patterns.js';
import { benjaminiHochberg, fisherAtLeast } from '../stats/exact-tests.js';
import type { CodeTimeline } from './timeline.js';

/** One vehicle's timelines; a vehicle whose codes were read and that had none belongs to the count as well. */
export interface VehicleCodesFact {
  vehicle: string;
  vehicleClass: string;
  timelines: readonly CodeTimeline[];
  /** Instants of the snapshots that read confirmed codes of the whole vehicle or of any module, ascending. */
  readMs: readonly number[];
}

/** Two codes in the same vehicles. */
export interface CodePair {
  codes: [string, string];
  /** Vehicles that had each. */
  vehicles: [number, number];
  both: number;
  /** Vehicles in which both were there at the same time. */
  atOnce: number;
  support: number;
  lift: number;
  p: number;
  adjusted: number;
}

/**
 * Pairs of codes that come together: in at least so many vehicles at the same time, more often than chance would have it
 * by Fisher's exact test over vehicles, adjusted for all pairs that share that many vehicles. Codes in different modules of
 * one vehicle are one code here. Highest lift first.
 */
export function codesTogether(vehicles: readonly VehicleCodesFact[], rule: CodePatternRule['together']): CodePair[] {
  const read = vehicles.filter(({ readMs }) => readMs.length > 0);
  const byCode = new Map<string, Map<string, CodeTimeline[]>>();
  for (const { vehicle, timelines } of read)
    for (const [code, list] of Map.groupBy(timelines, (timeline) => timeline.code)) {
      const where = byCode.get(code) ?? new Map<string, CodeTimeline[]>();
      byCode.set(code, where.set(vehicle, list));
    }
  const frequent = [...byCode].filter(([, where]) => where.size >= rule.leastVehicles).sort(byText);
  const pairs = frequent.flatMap(([first, inFirst], index) =>
    frequent
      .slice(index + 1)
      .flatMap(([second, inSecond]) => pairOf([first, second], [inFirst, inSecond], read.length, rule)),
  );
  const adjusted = benjaminiHochberg(pairs.map(({ p }) => p));
  return pairs
    .map((pair, index) => ({ ...pair, adjusted: adjusted[index]! }))
    .filter((pair) => pair.lift >= rule.leastLift && pair.adjusted <= rule.level)
    .sort((a, b) => b.lift - a.lift || b.both - a.both || (a.codes.join() < b.codes.join() ? -1 : 1));
}

function pairOf(
  codes: [string, string],
  [first, second]: [Map<string, CodeTimeline[]>, Map<string, CodeTimeline[]>],
  all: number,
  rule: CodePatternRule['together'],
): CodePair[] {
  const shared = [...first].filter(([vehicle]) => second.has(vehicle));
  const atOnce = shared.filter(([vehicle, list]) => overlap(list, second.get(vehicle)!)).length;
  if (atOnce < rule.leastVehicles) return [];
  const both = shared.length;
  const p = fisherAtLeast({ both, first: first.size, second: second.size, all });
  const lift = (both * all) / (first.size * second.size);
  const vehicles: [number, number] = [first.size, second.size];
  return [{ codes, vehicles, both, atOnce, support: both / all, lift, p, adjusted: p }];
}

const spansOf = (list: readonly CodeTimeline[]) => list.flatMap(({ histories }) => histories.flatMap((h) => h.spans));

const overlap = (first: readonly CodeTimeline[], second: readonly CodeTimeline[]): boolean =>
  spansOf(first).some((a) => spansOf(second).some((b) => a.fromMs <= b.lastMs && b.fromMs <= a.lastMs));

const byText = ([a]: [string, unknown], [b]: [string, unknown]): number => (a < b ? -1 : 1);
