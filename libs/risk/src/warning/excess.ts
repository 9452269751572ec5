import type { WarningRule } from '../rules/warning.js';
import { median } from '../stats/descriptive.js';
import { type ClassSpread, type Residual, recentFrom } from './class-residuals.js';

const MS_PER_DAY = 86_400_000;
/** Variance of a median: 1.57 (pi / 2) that of a mean, for a normal distribution. */
const MEDIAN_TO_MEAN_VARIANCE = Math.PI / 2;

export interface Excess {
  recent: Residual[];
  /** How many drives before the recent ones it is held against. */
  earlier: number;
  /** Where the recent ones would lie if nothing had changed [K]. */
  baselineK: number;
  /** Weighted mean of the recent residuals above that baseline [K]. */
  excessK: number;
  /** Standard error of the excess, what is not known of the baseline among it [K]. */
  errorK: number;
  /** What the excess must reach to be told from chance [K]. */
  thresholdK: number;
  /** There are drives enough, recent and earlier ones, to warn at all. */
  enough: boolean;
  /** The excess reaches the threshold, on enough drives, and not by its hottest drive alone. */
  warns: boolean;
}

interface Judged extends ClassSpread {
  leastK: number;
  asOfMs: number;
}

/**
 * The recent residuals against the vehicle's own earlier ones; null without a recent one.
 *
 * Baseline: median of the earlier residuals, shrunk toward the class by what one knows of the vehicle against how far
 * vehicles stand apart (empirical Bayes with a normal prior, as for rates in `standards` 11). Excess: mean of the recent
 * ones, each cut at `clipScales` from their median, weighted by how much the drive asked (a matched filter for lost capacity) and by how
 * lately it was (EWMA).
 */
export function excessOf(residuals: readonly Residual[], what: Judged, rule: WarningRule): Excess | null {
  const fromMs = recentFrom(what.asOfMs, rule);
  const recent = residuals.filter(({ startedMs }) => startedMs >= fromMs && startedMs < what.asOfMs);
  if (recent.length === 0) return null;
  const older = residuals.filter(({ startedMs }) => startedMs < fromMs);
  const { baselineK, varianceK2 } = baselineOf(older, what, rule);
  const weigh = (list: readonly Residual[]) => weightedExcess(list, { ...what, baselineK }, rule);
  const { excessK, effective } = weigh(recent);
  const errorK = Math.sqrt((what.scale * what.scale) / effective + varianceK2);
  const thresholdK = Math.max(what.leastK, rule.standardErrors * errorK);
  const enough = recent.length >= rule.minRecentDrives && older.length >= rule.minEarlierDrives;
  const hottest = recent.reduce((most, item) => (item.kelvin * item.demand > most.kelvin * most.demand ? item : most));
  const others = recent.filter((item) => item !== hottest);
  const warns = enough && excessK >= thresholdK && weigh(others).excessK >= thresholdK / 2;
  return { recent, earlier: older.length, baselineK, excessK, errorK, thresholdK, enough, warns };
}

function baselineOf(older: readonly Residual[], { scale, betweenK }: Judged, rule: WarningRule) {
  const between = betweenK * betweenK;
  if (older.length === 0) return { baselineK: 0, varianceK2: between };
  const own = median(older.map(({ kelvin }) => kelvin));
  const known = between / (between + (MEDIAN_TO_MEAN_VARIANCE * scale * scale) / older.length);
  // A vehicle that was out of line all along is not excused for more than its class explains.
  const most = rule.standardErrors * betweenK;
  return { baselineK: Math.min(most, known * own), varianceK2: between * (1 - known) };
}

function weightedExcess(
  recent: readonly Residual[],
  { scale, asOfMs, baselineK }: Judged & { baselineK: number },
  rule: WarningRule,
): { excessK: number; effective: number } {
  const most = rule.clipScales * scale;
  const middle = median(recent.map(({ kelvin }) => kelvin));
  let weights = 0;
  let squares = 0;
  let sum = 0;
  for (const { kelvin, startedMs, demand } of recent) {
    const weight = demand * Math.exp(-(asOfMs - startedMs) / MS_PER_DAY / rule.memoryDays);
    weights += weight;
    squares += weight * weight;
    const cut = Math.max(-most, Math.min(most, kelvin - middle));
    sum += weight * (middle + cut - baselineK);
  }
  return { excessK: sum / weights, effective: (weights * weights) / squares };
}
