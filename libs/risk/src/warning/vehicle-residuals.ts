import type { HeatSignal } from '../rules/stages.js';
import type { WarningRule } from '../rules/warning.js';
import { classResiduals, type Residual } from './class-residuals.js';
import type { VehicleFeatures } from './early-warning.js';
import { type Excess, excessOf } from './excess.js';

export interface SignalResiduals {
  signal: HeatSignal;
  label: string;
  /** Without `ok` there are no residuals, and that is no all-clear. */
  state: 'ok' | 'bad_sensor' | 'few_class_drives' | 'no_drives';
  /** Oldest first. */
  residuals: Residual[];
  /** Null with too few recent or too few earlier drives. */
  excess: Omit<Excess, 'recent'> | null;
}

/** What the early warning of one vehicle is made of, signal by signal, whether it warns or not. */
export function vehicleResiduals(
  vehicles: readonly VehicleFeatures[],
  vehicleId: string,
  asOfMs: number,
  rule: WarningRule,
): SignalResiduals[] {
  const own = vehicles.find((vehicle) => vehicle.vehicleId === vehicleId);
  return rule.signals.map((row): SignalResiduals => {
    const none = { signal: row.signal, label: row.label, residuals: [], excess: null };
    if (own?.badSignals.includes(row.signal)) return { ...none, state: 'bad_sensor' };
    const found = classResiduals(vehicles, row.signal, rule);
    if (!found) return { ...none, state: 'few_class_drives' };
    const residuals = found.members.find((member) => member.vehicleId === vehicleId)?.residuals ?? [];
    if (residuals.length === 0) return { ...none, state: 'no_drives' };
    const excess = excessOf(residuals, { ...row, ...found.spread, asOfMs }, rule);
    if (!excess?.enough) return { ...none, state: 'ok', residuals };
    const { recent: _recent, ...figures } = excess;
    return { ...none, state: 'ok', residuals, excess: figures };
  });
}
