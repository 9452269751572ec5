import type { HeatSignal } from '../rules/stages.js';
import type { WarningRule } from '../rules/warning.js';
import { type ClassSpread, classResiduals, excessOf, type Residual } from './class-residuals.js';

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
    const found = classResiduals(vehicles, row.signal, rule);
    for (const { vehicleId, residuals } of found?.members ?? []) {
      const warning = judge(residuals, { ...row, ...found!.spread, asOfMs }, rule);
      if (warning) warnings.set(vehicleId, [...(warnings.get(vehicleId) ?? []), warning]);
    }
  }
  return warnings;
}

function judge(
  residuals: readonly Residual[],
  what: { signal: HeatSignal; label: string; leastK: number; asOfMs: number } & ClassSpread,
  rule: WarningRule,
): EarlyWarning | null {
  const excess = excessOf(residuals, what, rule);
  if (!excess || excess.excessK < excess.thresholdK) return null;
  const { recent, excessK, thresholdK } = excess;
  const text =
    `${what.label} runs ${excessK.toFixed(0)} K above what load, speed, outside air and length of its last ` +
    `${recent.length} drives explain: cooling may be weakening.`;
  const worst = [...recent].sort((a, b) => b.kelvin - a.kelvin || a.startedMs - b.startedMs).slice(0, 3);
  return {
    ...{ signal: what.signal, excessK, thresholdK, recentDrives: recent.length, text },
    driveIds: worst.map(({ driveId }) => driveId),
  };
}
