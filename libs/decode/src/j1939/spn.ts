import type { SpnRow } from './spn-table.js';

/**
 * SAE J1939-71 table 1, ranges of the most significant byte: 00-FA valid, FB parameter-specific, FC-FD reserved,
 * FE error, FF not available (error and not available read, the other limits from memory). `absent`: the data end before it.
 */
export type SpnState = 'valid' | 'parameter-specific' | 'reserved' | 'error' | 'not-available' | 'absent';

export interface SpnValue {
  spn: number;
  name: string;
  unit: string;
  state: SpnState;
  /** A number only where `state` is `valid`. */
  value: number | null;
  raw: number | null;
}

/** Reads one row from the data of its parameter group; never throws. */
export function decodeSpn(row: SpnRow, data: Uint8Array): SpnValue {
  const raw = rawOf(row, data);
  const state = stateOf(row, raw);
  const value = state === 'valid' && raw !== null ? valueFromCounts(row, raw) : null;
  return { spn: row.spn, name: row.name, unit: row.unit, state, value, raw };
}

/** The value, or NaN where there is none: the form the sample columns use. */
export function spnNumber(row: SpnRow, data: Uint8Array): number {
  const raw = rawOf(row, data);
  return raw !== null && stateOf(row, raw) === 'valid' ? valueFromCounts(row, raw) : Number.NaN;
}

/** Little-endian raw bytes of a value, for building frames; null outside the valid range. */
export function encodeSpn(row: SpnRow, value: number): Uint8Array | null {
  let raw = Math.round(((value - row.offset) * row.div) / row.mul);
  if (!(raw >= 0) || stateOf(row, raw) !== 'valid' || raw >= 256 ** row.bytes) return null;
  const bytes = new Uint8Array(row.bytes);
  for (let at = 0; at < row.bytes; at++) {
    bytes[at] = raw % 256;
    raw = Math.floor(raw / 256);
  }
  return bytes;
}

/** State of a two-bit field: 00 off, 01 on, 10 error, 11 not available. */
export const TWO_BIT_STATES = ['off', 'on', 'error', 'not-available'] as const;
export type TwoBitState = (typeof TWO_BIT_STATES)[number];

function rawOf(row: SpnRow, data: Uint8Array): number | null {
  const first = row.startByte - 1;
  if (first + row.bytes > data.length) return null;
  let raw = 0;
  for (let at = row.bytes - 1; at >= 0; at--) raw = raw * 256 + (data[first + at] ?? 0);
  return raw;
}

function stateOf(row: SpnRow, raw: number | null): SpnState {
  if (raw === null) return 'absent';
  const top = Math.floor(raw / 256 ** (row.bytes - 1));
  if (top <= 0xfa) return 'valid';
  if (top === 0xfb) return 'parameter-specific';
  if (top <= 0xfd) return 'reserved';
  return top === 0xfe ? 'error' : 'not-available';
}

function valueFromCounts(row: SpnRow, raw: number): number {
  return (raw * row.mul) / row.div + row.offset;
}
