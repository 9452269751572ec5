import type { MonitorId } from '@tallybay/contracts';
import { byTime } from '../codes/history.js';
import type { SnapshotFact } from '../facts.js';
import { MONITOR_DRIVING } from '../rules/forecast.js';
import { CONTINUOUS_MONITORS } from '../rules/readiness.js';
import { betaQuantile } from '../stats/beta.js';
import { median } from '../stats/descriptive.js';
import { kaplanMeier, survivingAt, type Watched, waitingAfter } from '../stats/survival.js';
import {
  type CompletionRules,
  FORECAST_SCALES,
  type ForecastScale,
  lastClear,
  type MonitorWatch,
  monitorWatches,
  useSinceClear,
  usualUsePerDay,
} from './completion.js';

const MS_PER_DAY = 86_400_000;
/** Jeffreys' prior of a chance: half an event and half a non-event. */
const PRIOR = 0.5;

export type Outlook = 'likely' | 'uncertain' | 'unlikely' | 'too_little_history';

/** A chance with the middle 90 % of what the history leaves open. */
export interface Chance {
  chance: number;
  low: number;
  high: number;
}

export interface MonitorForecast {
  monitor: MonitorId;
  outlook: Outlook;
  /** Null with too little history. */
  chance: Chance | null;
  /** When it becomes likely at usual use; null = not within what the history shows. */
  likelyAtMs: number | null;
  /** Earlier clears of the vehicle and of its class after which the monitor was open for as long as it is now, or longer. */
  ownClears: number;
  classClears: number;
  /** Open for longer than nearly all of the class were. */
  overdue: boolean;
  driving: string;
}

export interface ReadinessForecast {
  untilMs: number;
  readAtMs: number;
  scale: ForecastScale;
  /** Use since the last clear at the reading; null = not known. */
  soFar: number | null;
  /** Usual use a day, and from the reading until then. */
  usualPerDay: number | null;
  usualUntilThen: number | null;
  monitors: MonitorForecast[];
}

/** What one vehicle's past tells, or a class's together. */
export interface CompletionHistory {
  watches: Record<ForecastScale, MonitorWatch[]>;
  usualPerDay: Record<ForecastScale, number | null>;
}

/** How one vehicle's monitors completed after clears, and how much it is used. */
export const completionHistory = (snapshots: readonly SnapshotFact[], rules: CompletionRules): CompletionHistory => ({
  watches: eachScale((scale) => monitorWatches(snapshots, scale, rules)),
  usualPerDay: eachScale((scale) => usualUsePerDay(snapshots, scale, rules)),
});

/** Several vehicles' pasts as one: all watches, the median use. */
export const pooledHistory = (members: readonly CompletionHistory[]): CompletionHistory => ({
  watches: eachScale((scale) => members.flatMap(({ watches }) => watches[scale])),
  usualPerDay: eachScale((scale) => {
    const known = members.map(({ usualPerDay }) => usualPerDay[scale]).filter((rate) => rate !== null);
    return known.length > 0 ? median(known) : null;
  }),
});

const eachScale = <T>(what: (scale: ForecastScale) => T): Record<ForecastScale, T> => ({
  warm_ups: what('warm_ups'),
  kilometres: what('kilometres'),
  days: what('days'),
});

/**
 * Which incomplete monitors are likely complete by a date. Conditional Kaplan-Meier over watches after clears, counted in
 * warm-ups (else kilometres, else days): own watches in full, the class's together as at most `classWeight`. The chance and
 * its interval are those of a Beta with Jeffreys' prior whose trials are the watches that got as far as the vehicle has. The
 * interval does not cover how the use may change.
 * @param history `own` of this vehicle, `others` of its class without it
 * @returns null when monitors were never read
 */
export function forecastReadiness(
  snapshots: readonly SnapshotFact[],
  history: { own: CompletionHistory; others: CompletionHistory },
  untilMs: number,
  rules: CompletionRules,
): ReadinessForecast | null {
  const ordered = byTime(snapshots);
  const newest = ordered.findLast(({ read }) => read.monitors);
  if (!newest) return null;
  const incomplete = newest.monitors
    .filter(({ id, supported, complete }) => supported && !complete && !CONTINUOUS_MONITORS.includes(id))
    .map(({ id }) => id)
    .sort();
  const way = wayOf(ordered, newest, history, rules);
  const usualUntilThen =
    way.usualPerDay === null ? null : (way.usualPerDay * Math.max(0, untilMs - newest.atMs)) / MS_PER_DAY;
  const base = { ...way, untilMs, readAtMs: newest.atMs, usualUntilThen };
  const watches = { own: history.own.watches[way.scale], others: history.others.watches[way.scale] };
  return { ...base, monitors: incomplete.map((monitor) => forecastOf(monitor, base, watches, rules)) };
}

type Way = Pick<ReadinessForecast, 'scale' | 'soFar' | 'usualPerDay'>;

/** The first scale on which both the use so far and the usual use are known. */
function wayOf(
  ordered: readonly SnapshotFact[],
  newest: SnapshotFact,
  { own, others }: { own: CompletionHistory; others: CompletionHistory },
  rules: CompletionRules,
): Way {
  const clear = lastClear(ordered, newest, rules.codes);
  const ways = FORECAST_SCALES.map(
    (scale): Way => ({
      scale,
      soFar: useSinceClear(newest, scale, { clear, rules }),
      usualPerDay: own.usualPerDay[scale] ?? others.usualPerDay[scale],
    }),
  );
  return ways.find(({ soFar, usualPerDay }) => soFar !== null && usualPerDay !== null) ?? ways[0]!;
}

function forecastOf(
  monitor: MonitorId,
  base: Omit<ReadinessForecast, 'monitors'>,
  watches: { own: readonly MonitorWatch[]; others: readonly MonitorWatch[] },
  { forecast: rule }: CompletionRules,
): MonitorForecast {
  const own = watches.own.filter((watch) => watch.monitor === monitor);
  const others = watches.others.filter((watch) => watch.monitor === monitor);
  const asFar = (watch: MonitorWatch) => watch.entered <= (base.soFar ?? 0) && watch.ended > (base.soFar ?? 0);
  const result = {
    ...{ monitor, ownClears: own.filter(asFar).length, classClears: others.filter(asFar).length },
    driving: MONITOR_DRIVING[monitor],
  };
  const unknown = { outlook: 'too_little_history' as const, chance: null, likelyAtMs: null };
  const { soFar, usualUntilThen, usualPerDay, readAtMs } = base;
  if (soFar === null || usualUntilThen === null || usualPerDay === null)
    return { ...result, ...unknown, overdue: false };
  const shared = Math.min(1, rule.classWeight / Math.max(1, others.length));
  const pooled = [...own.map((watch) => watched(watch, 1)), ...others.map((watch) => watched(watch, shared))];
  const waiting = waitingAfter(pooled, soFar);
  const done = 1 - survivingAt(kaplanMeier(others.map((watch) => watched(watch, 1))), soFar);
  const overdue = others.length >= rule.leastWatches && done >= rule.overdueShare;
  if (waiting < rule.leastWatches) return { ...result, ...unknown, overdue };
  const curve = kaplanMeier(pooled, soFar);
  const chance = chanceOf(1 - survivingAt(curve, soFar + usualUntilThen), waiting);
  const likely = curve.find(({ surviving }) => chanceOf(1 - surviving, waiting).chance >= rule.likely);
  const likelyAtMs = likely && usualPerDay > 0 ? readAtMs + ((likely.time - soFar) / usualPerDay) * MS_PER_DAY : null;
  return { ...result, outlook: outlookOf(chance, rule), chance, likelyAtMs, overdue };
}

const watched = ({ entered, ended, completed }: MonitorWatch, weight: number): Watched => ({
  ...{ entered, ended, happened: completed, weight },
});

function chanceOf(share: number, trials: number): Chance {
  const a = share * trials + PRIOR;
  const b = (1 - share) * trials + PRIOR;
  return { chance: a / (a + b), low: betaQuantile(0.05, a, b), high: betaQuantile(0.95, a, b) };
}

function outlookOf({ chance }: Chance, rule: { likely: number; unlikely: number }): Outlook {
  if (chance >= rule.likely) return 'likely';
  return chance <= rule.unlikely ? 'unlikely' : 'uncertain';
}
