import { bytesFromTroubleCode } from '../codes/trouble-code.js';
import { type Decoded, decoded, refused } from '../decode-problem.js';
import { CONTINUOUS_MONITORS, type MonitorStatus, NON_CONTINUOUS_MONITORS } from './monitor-status.js';
import { scaleInForce } from './pid.js';
import { pidName, pidRow } from './pid-table.js';
import type { BitsField, EnumField, NumberField, PidField, PidOptions, PidRow } from './pid-types.js';
import { encodeSupportedPids } from './supported-pids.js';

/** Field id to value; a missing or null field is written as not supported (its support bit clear, filler 00). */
export type PidInput = Record<string, number | string | readonly string[] | null | undefined>;

/**
 * The data bytes of one parameter, the inverse of `decodePid`. Values are rounded to the nearest count.
 * Enumerations take their name or raw number. Problems: `pid_unknown`, `value_not_encodable`.
 */
export function encodePid(pid: number, input: PidInput, options: PidOptions = {}): Decoded<Uint8Array> {
  const row = pidRow(pid);
  if (!row) return refused('pid_unknown', `PID ${pidName(pid)} has no row`, 'Send its bytes instead.');
  const bytes = new Uint8Array(lengthFor(row, input));
  for (const field of row.fields) {
    const problem = writeField(row, field, input[field.id], { bytes, options });
    if (problem) return problem;
  }
  return decoded(bytes);
}

/** PID 01 or 41 from its meaning; reserved bits stay 0. */
export function encodeMonitorStatus(status: MonitorStatus): Uint8Array {
  const names = NON_CONTINUOUS_MONITORS[status.ignition];
  let [b, c, d] = [status.ignition === 'compression' ? 0x08 : 0, 0, 0];
  for (const { id, supported, complete, continuous } of status.monitors) {
    const bit = continuous ? CONTINUOUS_MONITORS.indexOf(id) : names.indexOf(id);
    if (bit < 0 || !supported) continue;
    if (continuous) b |= (1 << bit) | (complete ? 0 : 1 << (bit + 4));
    else c |= 1 << bit;
    if (!continuous && !complete) d |= 1 << bit;
  }
  const a = (status.lampOn ? 0x80 : 0) | ((status.codeCount ?? 0) & 0x7f);
  return Uint8Array.of(a, b, c, d);
}

/** The full layout, longer when an optional last field is given, shorter when a row's optional second byte is not. */
function lengthFor(row: PidRow, input: PidInput): number {
  const optional = row.fields.filter((field) => field.kind === 'number' && field.at + field.bytes > row.minBytes);
  const dropped = optional.every(
    (field) => field.kind === 'number' && field.support === null && input[field.id] == null,
  );
  let length = optional.length > 0 && dropped ? row.minBytes : row.bytes;
  for (const field of row.fields) {
    const end = field.at + (field.kind === 'number' ? field.bytes : 1);
    if (end > length && end <= row.maxBytes && input[field.id] != null) length = end;
  }
  return length;
}

interface Target {
  bytes: Uint8Array;
  options: PidOptions;
}

type Refusal = Extract<Decoded<never>, { ok: false }>;

function writeField(row: PidRow, field: PidField, value: PidInput[string], target: Target): Refusal | null {
  switch (field.kind) {
    case 'number':
      return writeNumber(row, field, value, target);
    case 'bits':
      return writeBits(field, value, target);
    case 'enum':
      return writeChoice(field, value, target);
    case 'supported-pids':
      target.bytes.set(encodeSupportedPids(row.pid, Array.isArray(value) ? value : []), field.at);
      return null;
    case 'trouble-code':
      return writeCode(field.at, value, target);
    case 'monitor-status':
      return cannot(field.id, value, 'PID 01 and 41 are written by encodeMonitorStatus');
  }
}

function writeNumber(row: PidRow, field: NumberField, value: PidInput[string], target: Target): Refusal | null {
  if (field.at + field.bytes > target.bytes.length) return null;
  if (value === null || value === undefined) {
    if (field.nullRaw !== null) putRaw(target.bytes, field, field.nullRaw);
    return null;
  }
  if (typeof value !== 'number' || !Number.isFinite(value)) return cannot(field.id, value, 'a number is needed');
  const by = scaleInForce(row, field, target.options);
  const range = 256 ** field.bytes;
  const counts = Math.round(((value - by.offset) * by.div) / by.mul);
  const lowest = by.signed ? -range / 2 : 0;
  const highest = by.signed ? range / 2 - 1 : range - 1;
  if (counts < lowest || counts > highest)
    return cannot(field.id, value, `outside the raw range of ${field.bytes} byte`);
  putRaw(target.bytes, field, counts < 0 ? counts + range : counts);
  if (field.support !== null) target.bytes[0] = (target.bytes[0] ?? 0) | (1 << field.support);
  return null;
}

function putRaw(bytes: Uint8Array, field: NumberField, raw: number): void {
  let rest = raw;
  for (let index = field.bytes - 1; index >= 0; index--) {
    bytes[field.at + index] = rest % 256;
    rest = Math.floor(rest / 256);
  }
}

function writeBits(field: BitsField, value: PidInput[string], { bytes }: Target): Refusal | null {
  if (value === null || value === undefined) return null;
  if (!Array.isArray(value)) return cannot(field.id, value, 'a list of names is needed');
  let raw = 0;
  for (const name of value as readonly string[]) {
    const bit = field.names.indexOf(name);
    if (bit < 0) return cannot(field.id, name, `the names are ${field.names.join(', ')}`);
    raw |= 1 << bit;
  }
  bytes[field.at] = raw;
  if (field.supportAt !== null) bytes[field.supportAt] = raw;
  return null;
}

function writeChoice(field: EnumField, value: PidInput[string], { bytes }: Target): Refusal | null {
  if (value === null || value === undefined) return null;
  const raw =
    typeof value === 'number'
      ? value
      : Number(Object.keys(field.names).find((key) => field.names[Number(key)] === value) ?? Number.NaN);
  if (!Number.isInteger(raw) || raw < 0 || raw > 255) return cannot(field.id, value, 'no such meaning');
  bytes[field.at] = raw;
  return null;
}

function writeCode(at: number, value: PidInput[string], { bytes }: Target): Refusal | null {
  if (value === null || value === undefined) return null;
  const code = bytesFromTroubleCode(String(value));
  if (!code.ok) return code;
  bytes.set(code.value, at);
  return null;
}

function cannot(field: string, value: unknown, why: string): Refusal {
  return refused('value_not_encodable', `${field} = ${String(value)}: ${why}`, 'Give a value within the layout.');
}
