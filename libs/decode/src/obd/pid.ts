import { troubleCodeOrNull } from '../codes/trouble-code.js';
import { type Decoded, decoded, refused } from '../decode-problem.js';
import type { SignalId } from '../signals/catalogue.js';
import { hexFromBytes } from './hex.js';
import { decodeMonitorStatus, type MonitorStatus } from './monitor-status.js';
import { pidName, pidRow } from './pid-table.js';
import type { BitsField, EnumField, NumberField, PidField, PidMaxima, PidOptions, PidRow } from './pid-types.js';
import { decodeSupportedPids } from './supported-pids.js';

/**
 * Why a value is or is not there: `unsupported` its support bit is clear; `absent` the response ends before it;
 * `unused` the raw value means "not used"; `suspect` the raw value lies in a reserved range; `unlisted` no such meaning.
 */
export type PidValueState = 'ok' | 'unsupported' | 'absent' | 'unused' | 'suspect' | 'unlisted';

export interface PidValue {
  field: string;
  label: string;
  unit: string | null;
  /** Null whenever `state` is not `ok`. Never NaN. */
  value: number | string | string[] | null;
  state: PidValueState;
  /** The bytes as an unsigned number; null where there are none. */
  raw: number | null;
  signal: SignalId | null;
}

export interface PidReading {
  /** Two hexadecimal digits. */
  pid: string;
  label: string;
  /** False: not in the table, the bytes are kept in `raw`. */
  known: boolean;
  raw: string;
  values: PidValue[];
  /** Only PID 01 and 41. */
  monitorStatus: MonitorStatus | null;
}

/**
 * Decodes the data bytes of one service 01 (or 02) parameter, the PID echo not included.
 * An unknown PID gives its raw bytes. Problems: `response_short`, `response_long`.
 */
export function decodePid(pid: number, bytes: Uint8Array, options: PidOptions = {}): Decoded<PidReading> {
  const row = pidRow(pid);
  const raw = hexFromBytes(bytes);
  if (!row) {
    return decoded({
      pid: pidName(pid),
      label: 'Unknown parameter',
      known: false,
      raw,
      values: [],
      monitorStatus: null,
    });
  }
  if (bytes.length < row.minBytes || bytes.length > row.maxBytes) {
    const code = bytes.length < row.minBytes ? 'response_short' : 'response_long';
    const limit = row.minBytes === row.maxBytes ? `${row.minBytes}` : `${row.minBytes} to ${row.maxBytes}`;
    return refused(
      code,
      `PID ${pidName(pid)} has ${bytes.length} data bytes, its layout ${limit}`,
      'Send the data bytes that follow the PID, without padding.',
    );
  }
  const reading: PidReading = {
    pid: pidName(pid),
    label: row.label,
    known: true,
    raw,
    values: [],
    monitorStatus: null,
  };
  for (const field of row.fields) {
    if (field.kind === 'monitor-status') {
      const status = decodeMonitorStatus(bytes, pid === 0x01 ? 'since-clear' : 'this-cycle');
      if (!status.ok) return status;
      reading.monitorStatus = status.value;
      reading.values.push(...monitorValues(status.value));
    } else {
      reading.values.push(fieldValue(row, field, bytes, options));
    }
  }
  return decoded(reading);
}

/** The full scales that a reading of PID 4F or 50 announces, to hand to later `decodePid` calls. */
export function maximaOf(reading: PidReading): PidMaxima {
  const named: Record<string, keyof PidMaxima> = {
    max_equivalence_ratio: 'equivalenceRatio',
    max_o2_voltage: 'o2VoltageV',
    max_o2_current: 'o2CurrentMa',
    max_map: 'manifoldPressureKpa',
    max_maf: 'massAirFlowGps',
  };
  const maxima: PidMaxima = {};
  for (const { field, value } of reading.values) {
    const key = named[field];
    if (key && typeof value === 'number' && value > 0) maxima[key] = value;
  }
  return maxima;
}

function fieldValue(row: PidRow, field: PidField, bytes: Uint8Array, options: PidOptions): PidValue {
  if (field.kind === 'number') return numberValue(row, field, bytes, options);
  if (field.kind === 'bits') return bitsValue(field, bytes);
  if (field.kind === 'enum') return choiceValue(field, bytes);
  const base = { field: field.id, label: field.label, unit: null, signal: null, state: 'ok' as const, raw: null };
  if (field.kind === 'supported-pids') return { ...base, value: decodeSupportedPids(row.pid, bytes) };
  return { ...base, value: troubleCodeOrNull(bytes[0] ?? 0, bytes[1] ?? 0) };
}

function numberValue(row: PidRow, field: NumberField, bytes: Uint8Array, options: PidOptions): PidValue {
  const base = { field: field.id, label: field.label, unit: field.unit, signal: field.signal };
  const none = (state: PidValueState, raw: number | null): PidValue => ({ ...base, value: null, state, raw });
  if (field.at + field.bytes > bytes.length) return none('absent', null);
  const raw = rawAt(bytes, field.at, field.bytes);
  if (field.support !== null && (((bytes[0] ?? 0) >> field.support) & 1) === 0) return none('unsupported', raw);
  if (raw === field.nullRaw) return none('unused', raw);
  if (field.suspectAbove !== null && raw > field.suspectAbove) return none('suspect', raw);
  return { ...base, value: valueFromRaw(row, field, raw, options), state: 'ok', raw };
}

/** Big-endian unsigned. */
function rawAt(bytes: Uint8Array, at: number, length: number): number {
  let raw = 0;
  for (let index = 0; index < length; index++) raw = raw * 256 + (bytes[at + index] ?? 0);
  return raw;
}

/** Steps of a field: multiplied with the counts, then divided, then moved by `offset`. */
export interface FieldScale {
  mul: number;
  div: number;
  offset: number;
  signed: boolean;
}

/**
 * The scale in force: the table's, or the full scale announced by PID 4F or 50 (SAE J1979, from memory): maximum / 65535
 * or maximum / 255 a count; the current of a wide-range sensor is symmetric, so maximum / 32768 around 8000.
 */
export function scaleInForce(row: PidRow, field: NumberField, options: PidOptions): FieldScale {
  const maximum = field.scaledBy === null ? undefined : options.maxima?.[field.scaledBy];
  if (maximum !== undefined && maximum > 0) {
    if (field.scaledBy === 'o2CurrentMa') return { mul: maximum, div: 32_768, offset: -maximum, signed: false };
    return { mul: maximum, div: 256 ** field.bytes - 1, offset: 0, signed: false };
  }
  if (row.pid === 0x54 && options.wideEvap === 'offset') return { mul: 1, div: 1, offset: -32_767, signed: false };
  return field;
}

function valueFromRaw(row: PidRow, field: NumberField, raw: number, options: PidOptions): number {
  const by = scaleInForce(row, field, options);
  const range = 256 ** field.bytes;
  const counts = by.signed && raw >= range / 2 ? raw - range : raw;
  return cleanNumber((counts * by.mul) / by.div + by.offset);
}

/** Drops the last two digits of binary noise (0.1 + 0.2), so that 116.7 prints as 116.7. */
function cleanNumber(value: number): number {
  return Number(value.toPrecision(14));
}

function bitsValue(field: BitsField, bytes: Uint8Array): PidValue {
  const raw = bytes[field.at] ?? 0;
  const real = field.supportAt === null ? 0xff : (bytes[field.supportAt] ?? 0);
  const value = field.names.filter((name, bit): name is string => name !== null && (((raw & real) >> bit) & 1) === 1);
  return { field: field.id, label: field.label, unit: null, value, state: 'ok', raw, signal: null };
}

function choiceValue(field: EnumField, bytes: Uint8Array): PidValue {
  const base = { field: field.id, label: field.label, unit: null, signal: null };
  const raw = bytes[field.at];
  if (raw === undefined) return { ...base, value: null, state: 'absent', raw: null };
  const value = field.names[raw] ?? null;
  return { ...base, value, state: value === null ? 'unlisted' : 'ok', raw };
}

function monitorValues(status: MonitorStatus): PidValue[] {
  const supported = status.monitors.filter((monitor) => monitor.supported);
  const value = (field: string, label: string, given: PidValue['value']): PidValue => ({
    field,
    label,
    unit: null,
    value: given,
    state: 'ok',
    raw: null,
    signal: null,
  });
  const values: PidValue[] = [];
  if (status.lampOn !== null) values.push(value('mil', 'Malfunction lamp commanded', status.lampOn ? 'on' : 'off'));
  if (status.codeCount !== null) values.push(value('dtc_count', 'Confirmed emission codes', status.codeCount));
  const incomplete = supported.filter((monitor) => !monitor.complete);
  values.push(
    value('ignition', 'Ignition', status.ignition),
    value(
      'supported',
      'Monitors supported',
      supported.map((monitor) => monitor.id),
    ),
    value(
      'incomplete',
      'Monitors not complete',
      incomplete.map((monitor) => monitor.id),
    ),
  );
  return values;
}
