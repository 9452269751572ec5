import type { VehicleClassRow } from '../fleet/classes.js';
import type { DriveState } from '../physics/state.js';
import type { UnitKind } from './units.js';

export type Language = 'en' | 'short' | 'de' | 'es';

/** What a row shows beside the physical state: the coolant sensor as wired, and what the control module counts. */
export interface RowContext {
  vehicle: VehicleClassRow;
  coolantReadingC: number;
  lampKm: number;
  sinceClearKm: number;
  sinceClearMinutes: number;
  warmUpsSinceClear: number;
}

/** One channel that a recorder can write. `key` is the catalogue's signal id where there is one. */
export interface ChannelRow {
  key: string;
  kind: UnitKind | 'plain';
  /** Unit label of a `plain` channel; '' for none. */
  unit: string;
  decimals: number;
  /** Resolution of the sensor in the model's own unit. */
  quantum: number;
  /** Half width of uniform sensor noise in the model's own unit. */
  noise: number;
  value: (state: DriveState, context: RowContext) => number;
  names: Record<Language, string>;
  onlyIf: (vehicle: VehicleClassRow) => boolean;
}

export const gas = (vehicle: VehicleClassRow) => vehicle.fuel === 'gas';
export const diesel = (vehicle: VehicleClassRow) => vehicle.fuel === 'diesel';
export const turbo = (vehicle: VehicleClassRow) => vehicle.turbo;
export const pump = (vehicle: VehicleClassRow) => vehicle.pumpKw > 0;

type Digits = [decimals: number, quantum: number, noise: number];
type Rest = [value: ChannelRow['value'], names: string, onlyIf?: ChannelRow['onlyIf']];

/** A temperature: one decimal in degF by itself, sensor noise none (thermistors are filtered). */
export function t(key: string, quantum: number, ...rest: Rest): ChannelRow {
  return make(key, 'temperature', [quantum < 1 ? 1 : 0, quantum, 0], ...rest);
}

/** A quantity that recorders write in different units. */
export function k(key: string, kind: UnitKind, digits: Digits, ...rest: Rest): ChannelRow {
  return make(key, kind, digits, ...rest);
}

/** A quantity with one usual unit, or none. */
export function n(key: string, unit: string, digits: Digits, ...rest: Rest): ChannelRow {
  return { ...make(key, 'plain', digits, ...rest), unit };
}

function make(key: string, kind: ChannelRow['kind'], digits: Digits, ...rest: Rest): ChannelRow {
  const [value, names, onlyIf] = rest;
  const [decimals, quantum, noise] = digits;
  const [en, short, de, es] = names.split('|') as [string, string, string, string];
  return {
    key,
    kind,
    unit: '',
    decimals,
    quantum,
    noise,
    value,
    names: { en, short, de, es },
    onlyIf: onlyIf ?? (() => true),
  };
}
