import type { HeatSignal } from '../rules/stages.js';
import type { WarningRule } from '../rules/warning.js';
import { median, percentile } from '../stats/descriptive.js';
import { robustScale } from '../stats/regression.js';
import { classModel } from './class-model.js';
import type { DriveFeatures, VehicleFeatures } from './early-warning.js';

/** The temperature that one drive held at its hottest against what the class's drives explain. */
export interface Residual {
  driveId: string;
  startedMs: number;
  heldC: number;
  /** What load, road and engine speed, outside air and length of the drive explain, and what the sensor reads too high [°C]. */
  explainedC: number;
  /** The part of it that the sensor reads too high [K]. */
  sensorK: number;
  /** heldC - explainedC */
  kelvin: number;
  /**
   * How much the drive asked of the cooling, against the others of its class: 0 at the easiest tenth, 1 at the hardest,
   * within the rule's bounds. Weak cooling shows where it is needed, so a hard drive says more than an easy one.
   */
  demand: number;
}

export interface ClassSpread {
  /** Of a vehicle's drives about that vehicle's own middle [K]. */
  scale: number;
  /** Of the vehicles' middles among themselves: one is a little warmer than its like and well all the same [K]. */
  betweenK: number;
}

interface Member {
  vehicleId: string;
  residuals: Residual[];
}

/** Residuals of every vehicle of a class whose sensor is believed; null when the class has too few drives to learn from. */
export function classResiduals(
  vehicles: readonly VehicleFeatures[],
  signal: HeatSignal,
  rule: WarningRule,
): { members: Member[]; spread: ClassSpread } | null {
  const believed = vehicles.filter(({ badSignals }) => !badSignals.includes(signal));
  const drives = believed.flatMap((vehicle) => examples(vehicle, signal, rule));
  if (drives.length < rule.minClassDrives) return null;
  const { explain, freedom } = classModel(drives, signal, rule);
  const explained = drives.map(explain);
  const demandOf = demandScale(explained, rule);
  const members = believed.map((vehicle): Member => {
    const residuals = usable(vehicle, signal, rule).map((drive): Residual => {
      const heldC = drive.heldC[signal]!;
      // However far a drive lies beyond what was learnt from, it does not explain what would make it no example.
      const due = Math.min(explain(drive), limitOf(vehicle, signal));
      const sensorK = drive.sensorK[signal] ?? 0;
      const explainedC = due + sensorK;
      const { driveId, startedMs } = drive;
      return { driveId, startedMs, heldC, explainedC, sensorK, kelvin: heldC - explainedC, demand: demandOf(due) };
    });
    return { vehicleId: vehicle.vehicleId, residuals };
  });
  return { members, spread: spreadOf(members, freedom, rule) };
}

const usable = (vehicle: VehicleFeatures, signal: HeatSignal, rule: WarningRule): DriveFeatures[] =>
  vehicle.drives
    .filter((drive) => drive.seconds >= rule.minDriveSeconds && drive.heldC[signal] !== undefined)
    .sort((a, b) => a.startedMs - b.startedMs || (a.driveId < b.driveId ? -1 : 1));

/** Those that show what the class should hold. */
const examples = (vehicle: VehicleFeatures, signal: HeatSignal, rule: WarningRule): DriveFeatures[] =>
  usable(vehicle, signal, rule).filter(
    ({ heldC, sensorK }) => heldC[signal]! - (sensorK[signal] ?? 0) < limitOf(vehicle, signal),
  );

const limitOf = ({ learnsBelowC }: VehicleFeatures, signal: HeatSignal): number => learnsBelowC[signal] ?? Infinity;

/** Narrower than this, the drives of a class all ask the same [K]. */
const LEAST_DEMAND_SPAN_K = 0.5;

function demandScale(explained: readonly number[], { demandBounds }: WarningRule): (explainedC: number) => number {
  const [easy, hard] = [percentile(explained, 0.1), percentile(explained, 0.9)];
  const spanK = Math.max(LEAST_DEMAND_SPAN_K, hard - easy);
  return (explainedC) => Math.min(demandBounds.most, Math.max(demandBounds.least, (explainedC - easy) / spanK));
}

/** A sensor that writes whole degrees cannot scatter less [K]. */
const LEAST_SCALE_K = 0.3;

function spreadOf(members: readonly Member[], freedom: number, rule: WarningRule): ClassSpread {
  const known = members.filter(({ residuals }) => residuals.length >= rule.minRecentDrives);
  const middles = known.map(({ residuals }) => median(residuals.map(({ kelvin }) => kelvin)));
  const own = known.flatMap(({ residuals }, index) => {
    // A vehicle's own middle takes a part of its scatter away.
    const widen = Math.sqrt(residuals.length / (residuals.length - 1));
    return residuals.map(({ kelvin }) => (kelvin - middles[index]!) * widen);
  });
  // What was fitted to the drives lies closer to them than to new ones.
  const scale = Math.max(LEAST_SCALE_K, own.length > 0 ? robustScale(own) / Math.sqrt(freedom) : 0);
  const middle = middles.length > 0 ? median(middles) : 0;
  const apart = middles.length > 0 ? robustScale(middles.map((value) => value - middle)) : 0;
  return { scale, betweenK: Math.max(apart, rule.leastBetween * scale) };
}

/** Start of the recent days [ms]. */
export const recentFrom = (asOfMs: number, rule: WarningRule): number => asOfMs - rule.recentDays * 86_400_000;
