import type { HeatSignal } from '../rules/stages.js';
import type { WarningRule } from '../rules/warning.js';
import { median } from '../stats/descriptive.js';
import { huberRegression, predict } from '../stats/regression.js';
import type { DriveFeatures, VehicleFeatures } from './early-warning.js';

const MS_PER_DAY = 86_400_000;

/** One drive's highest temperature against what the class's drives explain. */
export interface Residual {
  driveId: string;
  startedMs: number;
  maxC: number;
  /** What load, speed, outside air and length of the drive explain [°C]. */
  explainedC: number;
  /** maxC - explainedC */
  kelvin: number;
}

export interface ClassSpread {
  /** Of the drives among themselves [K]. */
  scale: number;
  /** Of the vehicles among themselves [K]. */
  betweenK: number;
}

/** Residuals of every vehicle of a class whose sensor is believed; null when the class has too few drives to learn from. */
export function classResiduals(
  vehicles: readonly VehicleFeatures[],
  signal: HeatSignal,
  rule: WarningRule,
): { members: { vehicleId: string; residuals: Residual[] }[]; spread: ClassSpread } | null {
  const believed = vehicles.filter(({ badSignals }) => !badSignals.includes(signal));
  const drives = believed.flatMap((vehicle) => usable(vehicle, signal, rule));
  if (drives.length < rule.minClassDrives) return null;
  const { coefficients, scale } = huberRegression(
    drives.map(predictors),
    drives.map((drive) => drive.maxC[signal]!),
  );
  const members = believed.map((vehicle) => ({
    vehicleId: vehicle.vehicleId,
    residuals: residualsOf(vehicle, signal, coefficients, rule),
  }));
  const betweenK = spreadOfVehicles(
    members.map(({ residuals }) => residuals),
    rule,
  );
  return { members, spread: { scale, betweenK } };
}

const usable = (vehicle: VehicleFeatures, signal: HeatSignal, rule: WarningRule): DriveFeatures[] =>
  vehicle.drives
    .filter((drive) => drive.seconds >= rule.minDriveSeconds && drive.maxC[signal] !== undefined)
    .sort((a, b) => a.startedMs - b.startedMs || (a.driveId < b.driveId ? -1 : 1));

/** Centred near usual values: what is not recorded counts as usual. */
const predictors = (drive: DriveFeatures): number[] => [
  1,
  (drive.loadPct ?? 40) - 40,
  (drive.speedKmh ?? 40) - 40,
  (drive.ambientC ?? 20) - 20,
  Math.log(drive.seconds / 1800),
];

const residualsOf = (
  vehicle: VehicleFeatures,
  signal: HeatSignal,
  coefficients: readonly number[],
  rule: WarningRule,
): Residual[] =>
  usable(vehicle, signal, rule).map((drive) => {
    const maxC = drive.maxC[signal]!;
    const explainedC = predict(coefficients, predictors(drive));
    return { driveId: drive.driveId, startedMs: drive.startedMs, maxC, explainedC, kelvin: maxC - explainedC };
  });

/** 1.4826 x median absolute deviation estimates a standard deviation that a few odd ones do not move. */
const MAD_TO_SD = 1.4826;
/** Standard error of a median: 1.25 that of a mean, for a normal distribution. */
const MEDIAN_TO_MEAN = 1.25;

/** How far the vehicles of a class stand apart by nature: one is a little warmer than its like and well all the same [K]. */
function spreadOfVehicles(vehicles: readonly (readonly Residual[])[], rule: WarningRule): number {
  const middles = vehicles
    .filter(({ length }) => length >= rule.minRecentDrives)
    .map((residuals) => median(residuals.map(({ kelvin }) => kelvin)));
  if (middles.length === 0) return 0;
  const middle = median(middles);
  return MAD_TO_SD * median(middles.map((value) => Math.abs(value - middle)));
}

export interface Excess {
  recent: Residual[];
  /** Where the recent ones would lie if nothing had changed [K]. */
  baselineK: number;
  /** Median of the recent residuals above that baseline [K]. */
  excessK: number;
  /** What it must exceed to be told from chance [K]. */
  thresholdK: number;
}

/** The recent residuals against the vehicle's own earlier ones; null with too few of either. */
export function excessOf(
  residuals: readonly Residual[],
  what: { leastK: number; asOfMs: number } & ClassSpread,
  rule: WarningRule,
): Excess | null {
  const recentFromMs = recentFrom(what.asOfMs, rule);
  const recent = residuals.filter(({ startedMs }) => startedMs >= recentFromMs && startedMs < what.asOfMs);
  const older = residuals.filter(({ startedMs }) => startedMs < recentFromMs);
  if (recent.length < rule.minRecentDrives || older.length < rule.minEarlierDrives) return null;
  // A vehicle that was out of line all along is not excused for more than a finding's worth.
  const own = median(older.map(({ kelvin }) => kelvin));
  const baselineK = Math.min(what.leastK, (own * older.length) / (older.length + rule.baselineDrives));
  const excessK = median(recent.map(({ kelvin }) => kelvin)) - baselineK;
  const unknown = rule.baselineDrives / (older.length + rule.baselineDrives);
  const error = Math.hypot((MEDIAN_TO_MEAN * what.scale) / Math.sqrt(recent.length), unknown * what.betweenK);
  return { recent, baselineK, excessK, thresholdK: Math.max(what.leastK, rule.standardErrors * error) };
}

/** Start of the recent days [ms]. */
export const recentFrom = (asOfMs: number, rule: WarningRule): number => asOfMs - rule.recentDays * MS_PER_DAY;
