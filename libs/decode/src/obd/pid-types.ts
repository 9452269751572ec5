import type { SignalId } from '../signals/catalogue.js';

/**
 * Where a row's numbers come from. `read` = the formula was read in a published table (named in `source`);
 * `memory` = from memory of the named standard; `part` = read, but the marked detail is from memory.
 */
export type SourceMark = 'read' | 'memory' | 'part';

/** A number in the response: value = raw * mul / div + offset. */
export interface NumberField {
  kind: 'number';
  id: string;
  label: string;
  unit: string;
  /** First byte, counted from 0 after the PID; most significant byte first. */
  at: number;
  bytes: 1 | 2 | 4;
  signed: boolean;
  mul: number;
  div: number;
  offset: number;
  /** Bit of byte A that says the value is real; clear = null. */
  support: number | null;
  /** Raw value that means "not used". */
  nullRaw: number | null;
  /** Raw values above this are the reserved range of the J1939 parameter it was adopted from: kept, but suspect. */
  suspectAbove: number | null;
  /** Which maximum of PID 4F or 50 rescales it. */
  scaledBy: keyof PidMaxima | null;
  signal: SignalId | null;
}

/** Named bits of one byte: the value lists the names whose bit is set. */
export interface BitsField {
  kind: 'bits';
  id: string;
  label: string;
  at: number;
  names: readonly (string | null)[];
  /** Byte of support bits in the same positions, or null. */
  supportAt: number | null;
}

/** One of a closed list of meanings; a raw value without a row is given as `unlisted`. */
export interface EnumField {
  kind: 'enum';
  id: string;
  label: string;
  at: number;
  names: Readonly<Record<number, string>>;
}

/** Support bitmap, trouble code or monitor status: decoded by the module that owns the layout. */
export interface SpecialField {
  kind: 'supported-pids' | 'trouble-code' | 'monitor-status';
  id: string;
  label: string;
  at: number;
}

export type PidField = NumberField | BitsField | EnumField | SpecialField;

export interface PidRow {
  pid: number;
  label: string;
  /** Length of the full layout; `minBytes` is the shortest that vehicles send, fields past the end are null. */
  bytes: number;
  minBytes: number;
  /** Longest accepted: newer editions append status bytes to some rows. */
  maxBytes: number;
  fields: readonly PidField[];
  mark: SourceMark;
  source: string;
}

/** Full scales announced by PID 4F and 50; 0 or absent = the table's own scale. */
export interface PidMaxima {
  equivalenceRatio?: number;
  o2VoltageV?: number;
  o2CurrentMa?: number;
  manifoldPressureKpa?: number;
  massAirFlowGps?: number;
}

export interface PidOptions {
  maxima?: PidMaxima;
  /** PID 54: two's complement (default) or offset binary u16 - 32767, as older copies of the table print it. */
  wideEvap?: 'signed' | 'offset';
}
