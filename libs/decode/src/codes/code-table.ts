import type { CodeRow } from './code-row.js';
import { AIR_FUEL_ROWS } from './rows-air-fuel.js';
import { CONTROL_ROWS } from './rows-control.js';
import { EMISSION_ROWS } from './rows-emission.js';
import { ENGINE_ROWS } from './rows-engine.js';
import { NETWORK_HYBRID_ROWS } from './rows-network-hybrid.js';
import { TRANSMISSION_ROWS } from './rows-transmission.js';

export const CODE_SOURCE = 'SAE J2012 numbers and meaning, from memory; words, severity and readiness effect are ours';

/** Every generic code that has a description, in order of its number. */
export const CODE_ROWS: readonly CodeRow[] = [
  ...AIR_FUEL_ROWS,
  ...ENGINE_ROWS,
  ...EMISSION_ROWS,
  ...CONTROL_ROWS,
  ...TRANSMISSION_ROWS,
  ...NETWORK_HYBRID_ROWS,
].sort((first, second) => (first.code < second.code ? -1 : 1));

const byCode = new Map(CODE_ROWS.map((row) => [row.code, row]));

export function codeRow(code: string): CodeRow | null {
  return byCode.get(code.toUpperCase()) ?? null;
}
