import type { SignalRow } from './row.js';
import { EMISSIONS } from './rows/emissions.js';
import { ENGINE } from './rows/engine.js';
import { PRESSURES } from './rows/pressures.js';
import { TEMPERATURES } from './rows/temperatures.js';
import { VEHICLE } from './rows/vehicle.js';

export type { Quantity } from '../units/units.js';
export type { SignalRow, StandardRef } from './row.js';

/** Changes whenever a row changes what is decoded; stored with every upload. */
export const CATALOGUE_VERSION = '2026-11-26.3';

/** Every signal, one row each. A new signal is a new row in one of the tables under `rows/`. */
export const SIGNALS = [
  ...TEMPERATURES,
  ...PRESSURES,
  ...ENGINE,
  ...EMISSIONS,
  ...VEHICLE,
] as const satisfies readonly SignalRow[];

export type SignalId = (typeof SIGNALS)[number]['id'];

const BY_ID: ReadonlyMap<string, SignalRow & { id: SignalId }> = new Map(SIGNALS.map((row) => [row.id, row]));

/** The row of a signal id. @throws RangeError for an id that is not in the catalogue. */
export function signalRow(id: string): SignalRow & { id: SignalId } {
  const row = BY_ID.get(id);
  if (!row) throw new RangeError(`Signal "${id}" is not in the catalogue ${CATALOGUE_VERSION}.`);
  return row;
}

export function isSignalId(id: string): id is SignalId {
  return BY_ID.has(id);
}
