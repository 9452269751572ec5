import type { MonitorId } from '@tallybay/contracts';
import { type Clear, findClears } from '../codes/clears.js';
import { byTime } from '../codes/history.js';
import type { SnapshotFact } from '../facts.js';
import type { CodesRule } from '../rules/codes.js';
import type { ForecastRule } from '../rules/forecast.js';
import { CONTINUOUS_MONITORS } from '../rules/readiness.js';

const MS_PER_DAY = 86_400_000;

/** What the way to completion is counted in. The first that a vehicle reports is taken. */
export type ForecastScale = 'warm_ups' | 'kilometres' | 'days';
export const FORECAST_SCALES: readonly ForecastScale[] = ['warm_ups', 'kilometres', 'days'];

/** One monitor of one vehicle watched after one clear. */
export interface MonitorWatch {
  monitor: MonitorId;
  /** Use since the clear when the watch began with the monitor incomplete. */
  entered: number;
  /** Use since the clear when it was first seen complete, or last seen incomplete. */
  ended: number;
  completed: boolean;
}

export interface CompletionRules {
  codes: CodesRule;
  forecast: ForecastRule;
}

/** Snapshots between two clears; `clear` is null when the one before them was not seen. */
interface Epoch {
  clear: Clear | null;
  snapshots: SnapshotFact[];
}

/**
 * How long monitors took to complete after each clear of one vehicle. Completion lies between two snapshots; the later one
 * is taken, so that a forecast errs toward later. A monitor that was complete already when the vehicle was first read
 * after a clear that nobody saw says nothing.
 */
export function monitorWatches(
  snapshots: readonly SnapshotFact[],
  scale: ForecastScale,
  rules: CompletionRules,
): MonitorWatch[] {
  return epochsOf(snapshots, rules.codes).flatMap((epoch) => {
    const readings = epoch.snapshots
      .filter(({ read }) => read.monitors)
      .map((snapshot) => ({ snapshot, used: useSinceClear(snapshot, scale, { clear: epoch.clear, rules }) }))
      .filter((reading): reading is Reading => reading.used !== null);
    const monitors = new Set(readings.flatMap(({ snapshot }) => supportedOf(snapshot)));
    return [...monitors].sort().flatMap((monitor) => watchOf(monitor, readings, epoch.clear !== null));
  });
}

interface Reading {
  snapshot: SnapshotFact;
  used: number;
}

function watchOf(monitor: MonitorId, readings: readonly Reading[], clearSeen: boolean): MonitorWatch[] {
  let watch: MonitorWatch | null = null;
  for (const { snapshot, used } of readings) {
    const state = snapshot.monitors.find(({ id, supported }) => id === monitor && supported);
    if (!state) continue;
    if (!watch) {
      if (state.complete && !clearSeen) return [];
      watch = { monitor, entered: clearSeen ? 0 : used, ended: used, completed: state.complete };
    } else {
      watch.ended = Math.max(watch.ended, used);
      watch.completed = state.complete;
    }
    if (watch.completed) break;
  }
  return watch && watch.ended > watch.entered ? [watch] : [];
}

const supportedOf = ({ monitors }: SnapshotFact): MonitorId[] =>
  monitors.filter(({ id, supported }) => supported && !CONTINUOUS_MONITORS.includes(id)).map(({ id }) => id);

/** A snapshot inside the span in which the clear happened may be from before or after it, and is left out. */
function epochsOf(snapshots: readonly SnapshotFact[], rule: CodesRule): Epoch[] {
  const ordered = byTime(snapshots);
  const clears = findClears(ordered, rule);
  const starts: (Clear | null)[] = [null, ...clears];
  return starts.map((clear, index) => {
    const next = starts[index + 1];
    return {
      clear,
      snapshots: ordered.filter(({ atMs }) => (!clear || atMs >= clear.beforeMs) && (!next || atMs <= next.afterMs)),
    };
  });
}

/** The clear that the newest reading comes after, if it was seen. */
export function lastClear(snapshots: readonly SnapshotFact[], newest: SnapshotFact, rule: CodesRule): Clear | null {
  return findClears(snapshots, rule).findLast(({ beforeMs }) => beforeMs <= newest.atMs) ?? null;
}

/** Use since the last clear by one snapshot; null when it was not read, or the counter stands at its end. */
export function useSinceClear(
  snapshot: SnapshotFact,
  scale: ForecastScale,
  { clear, rules }: { clear: Clear | null; rules: CompletionRules },
): number | null {
  const { warmUpsSinceClear: warmUps, distanceSinceClearKm: distance } = snapshot.counters;
  if (scale === 'warm_ups') return warmUps !== null && warmUps < rules.forecast.warmUpCeiling ? warmUps : null;
  if (scale === 'kilometres') return distance !== null && distance < rules.codes.counterCeiling ? distance : null;
  return clear === null ? null : (snapshot.atMs - clear.afterMs) / MS_PER_DAY;
}

/** Usual use a day: what the counter gained between readings of the last weeks without a clear between; null = unknown. */
export function usualUsePerDay(
  snapshots: readonly SnapshotFact[],
  scale: ForecastScale,
  rules: CompletionRules,
): number | null {
  if (scale === 'days') return 1;
  const ordered = byTime(snapshots);
  const sinceMs = (ordered.at(-1)?.atMs ?? 0) - rules.forecast.useDays * MS_PER_DAY;
  let gained = 0;
  let days = 0;
  for (const epoch of epochsOf(ordered, rules.codes)) {
    const read = epoch.snapshots
      .filter(({ atMs }) => atMs >= sinceMs)
      .map((snapshot) => ({ snapshot, used: useSinceClear(snapshot, scale, { clear: epoch.clear, rules }) }))
      .filter((reading): reading is Reading => reading.used !== null);
    const first = read[0];
    const last = read.at(-1);
    if (!first || !last) continue;
    gained += Math.max(0, last.used - first.used);
    days += (last.snapshot.atMs - first.snapshot.atMs) / MS_PER_DAY;
  }
  return days >= rules.forecast.leastUseDays ? gained / days : null;
}
