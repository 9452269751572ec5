import type { HeatSignal } from '../rules/stages.js';
import type { DrivePredictor, WarningRule } from '../rules/warning.js';
import { median, percentile } from '../stats/descriptive.js';
import { huberRegression, predict } from '../stats/regression.js';
import type { DriveFeatures } from './early-warning.js';

export interface ClassModel {
  /** Temperature that a drive of this class should have held at its hottest, by an honest sensor [°C]. */
  explain: (drive: DriveFeatures) => number;
  /** Share of the drives that the fitted numbers left free, 0..1: (drives - numbers) / drives. */
  freedom: number;
}

/** One number of a drive that the model weighs. */
type Column = (drive: DriveFeatures) => number;

/** Narrower than this, the straight model explains the same for all drives and shows no bend [K]. */
const LEAST_SPAN_K = 0.5;

/**
 * What the drives of a class explain of the highest value of a signal: straight in the rule's predictors and the logarithm of
 * the drive's length, with one bend (see `bendSpans`), both by Huber's regression.
 * @param drives at least one, each with that signal
 */
export function classModel(drives: readonly DriveFeatures[], signal: HeatSignal, rule: WarningRule): ClassModel {
  const straight: Column[] = [() => 1, length, ...predictorColumns(drives, signal, rule)];
  const columns = [...straight, bendOf(fitted(drives, signal, straight), drives, rule)];
  const freedom = Math.max(1, drives.length - columns.length) / drives.length;
  return { explain: fitted(drives, signal, columns), freedom };
}

/** About 0 at half an hour. */
const length: Column = ({ seconds }) => Math.log(seconds / 1800);

/** A predictor that no drive has says nothing and would take a degree of freedom. */
const predictorColumns = (
  drives: readonly DriveFeatures[],
  signal: HeatSignal,
  { predictors }: WarningRule,
): Column[] =>
  predictors
    .filter(({ notFor }) => !notFor?.includes(signal))
    .flatMap((predictor): Column[] => {
      const known = drives.flatMap((drive) => meanOf(drive, predictor) ?? []);
      if (known.length === 0) return [];
      const middle = median(known);
      return [(drive) => ((meanOf(drive, predictor) ?? middle) - middle) / predictor.step];
    });

function meanOf({ means }: DriveFeatures, predictor: DrivePredictor): number | undefined {
  const recorded = predictor.means.find((signal) => means[signal] !== undefined);
  return recorded && means[recorded];
}

function fitted(drives: readonly DriveFeatures[], signal: HeatSignal, columns: readonly Column[]): Column {
  const rowOf = (drive: DriveFeatures) => columns.map((column) => column(drive));
  const { coefficients } = huberRegression(
    drives.map(rowOf),
    drives.map(({ heldC, sensorK }) => heldC[signal]! - (sensorK[signal] ?? 0)),
  );
  return (drive) => predict(coefficients, rowOf(drive));
}

function bendOf(straightC: Column, drives: readonly DriveFeatures[], { bendSpans }: WarningRule): Column {
  const explained = drives.map(straightC);
  const middle = median(explained);
  const span = Math.max(LEAST_SPAN_K, percentile(explained, 0.9) - percentile(explained, 0.1));
  return (drive) => Math.max(-bendSpans, Math.min(bendSpans, (straightC(drive) - middle) / span)) ** 2;
}
