import type { HeatSignal } from '../rules/stages.js';
import type { WarningRule } from '../rules/warning.js';
import { median } from '../stats/descriptive.js';
import { huberRegression, predict } from '../stats/regression.js';

const MS_PER_DAY = 86_400_000;

/** What one drive asked of the cooling and what came of it: means over the drive, and the highest temperatures. */
export interface DriveFeatures {
  driveId: string;
  startedMs: number;
  seconds: number;
  loadPct: number | null;
  speedKmh: number | null;
  ambientC: number | null;
  maxC: Partial<Record<HeatSignal, number>>;
}

export interface VehicleFeatures {
  vehicleId: string;
  /** Signals that are not to be believed in this week. */
  badSignals: readonly HeatSignal[];
  drives: readonly DriveFeatures[];
}

export interface EarlyWarning {
  signal: HeatSignal;
  /** Recent drives above what load, speed, ambient and length explain, over the vehicle's own baseline [K]. */
  excessK: number;
  /** What it had to exceed to be told from chance [K]. */
  thresholdK: number;
  recentDrives: number;
  text: string;
  driveIds: string[];
}

interface Residual {
  driveId: string;
  startedMs: number;
  kelvin: number;
}

/**
 * Vehicles of one class whose temperatures rise beyond what their drives explain, before any limit is crossed.
 *
 * The highest temperature of a drive is explained by mean load, speed, ambient and length with one robust regression over
 * the class (season and route are in it; a few sick vehicles do not bend it). A vehicle's residuals of the last days are
 * then held against its own earlier ones, shrunk toward the class where it has few. The median of the recent ones decides,
 * so one odd drive does not warn.
 * @returns by vehicle id; vehicles without a warning are absent
 */
export function earlyWarnings(
  vehicles: readonly VehicleFeatures[],
  asOfMs: number,
  rule: WarningRule,
): Map<string, EarlyWarning[]> {
  const warnings = new Map<string, EarlyWarning[]>();
  for (const row of rule.signals) {
    const model = classModel(vehicles, row.signal, rule);
    if (!model) continue;
    const members = vehicles
      .filter(({ badSignals }) => !badSignals.includes(row.signal))
      .map(({ vehicleId, ...vehicle }) => ({
        vehicleId,
        residuals: residualsOf({ vehicleId, ...vehicle }, row.signal, model.coefficients, rule),
      }));
    const spread = {
      scale: model.scale,
      betweenK: spreadOfVehicles(
        members.map(({ residuals }) => residuals),
        rule,
      ),
    };
    for (const { vehicleId, residuals } of members) {
      const warning = judge(residuals, { ...row, ...spread, asOfMs }, rule);
      if (warning) warnings.set(vehicleId, [...(warnings.get(vehicleId) ?? []), warning]);
    }
  }
  return warnings;
}

function classModel(vehicles: readonly VehicleFeatures[], signal: HeatSignal, rule: WarningRule) {
  const drives = vehicles
    .filter(({ badSignals }) => !badSignals.includes(signal))
    .flatMap((vehicle) => usable(vehicle, signal, rule));
  if (drives.length < rule.minClassDrives) return null;
  return huberRegression(
    drives.map(predictors),
    drives.map((drive) => drive.maxC[signal]!),
  );
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
  usable(vehicle, signal, rule).map((drive) => ({
    ...{ driveId: drive.driveId, startedMs: drive.startedMs },
    kelvin: drive.maxC[signal]! - predict(coefficients, predictors(drive)),
  }));

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

function judge(
  residuals: readonly Residual[],
  what: { signal: HeatSignal; label: string; leastK: number; scale: number; betweenK: number; asOfMs: number },
  rule: WarningRule,
): EarlyWarning | null {
  const recentFromMs = what.asOfMs - rule.recentDays * MS_PER_DAY;
  const recent = residuals.filter(({ startedMs }) => startedMs >= recentFromMs && startedMs < what.asOfMs);
  const older = residuals.filter(({ startedMs }) => startedMs < recentFromMs);
  if (recent.length < rule.minRecentDrives || older.length < rule.minEarlierDrives) return null;
  // A vehicle that was out of line all along is not excused for more than a finding's worth.
  const own = median(older.map(({ kelvin }) => kelvin));
  const baseline = Math.min(what.leastK, (own * older.length) / (older.length + rule.baselineDrives));
  const excessK = median(recent.map(({ kelvin }) => kelvin)) - baseline;
  const unknown = rule.baselineDrives / (older.length + rule.baselineDrives);
  const error = Math.hypot((MEDIAN_TO_MEAN * what.scale) / Math.sqrt(recent.length), unknown * what.betweenK);
  const thresholdK = Math.max(what.leastK, rule.standardErrors * error);
  if (excessK < thresholdK) return null;
  const text =
    `${what.label} runs ${excessK.toFixed(0)} K above what load, speed, outside air and length of its last ` +
    `${recent.length} drives explain: cooling may be weakening.`;
  const worst = [...recent].sort((a, b) => b.kelvin - a.kelvin || a.startedMs - b.startedMs).slice(0, 3);
  return {
    ...{ signal: what.signal, excessK, thresholdK, recentDrives: recent.length, text },
    driveIds: worst.map(({ driveId }) => driveId),
  };
}
