// Constructors of PID table rows; the tables read as the printed layout does.
import type { SignalId } from '../signals/catalogue.js';
import type { BitsField, EnumField, NumberField, PidField, PidMaxima, PidRow, SourceMark } from './pid-types.js';

interface FieldOptions {
  signed?: boolean;
  support?: number;
  nullRaw?: number;
  suspectAbove?: number;
  scaledBy?: keyof PidMaxima;
  signal?: SignalId;
}

/** How raw counts become a value: `[bytes, mul, div, offset, unit]`. */
type Scale = readonly [1 | 2 | 4, number, number, number, string];

export const PERCENT: Scale = [1, 100, 255, 0, '%'];
export const TRIM: Scale = [1, 100, 128, -100, '%'];
export const TEMPERATURE: Scale = [1, 1, 1, -40, 'degC'];
export const WIDE_TEMPERATURE: Scale = [2, 1, 10, -40, 'degC'];
export const TORQUE: Scale = [1, 1, 1, -125, '%'];
export const RATIO: Scale = [2, 2, 65_536, 0, 'ratio'];
export const RAIL_PRESSURE: Scale = [2, 10, 1, 0, 'kPa'];
export const SECONDS_LONG: Scale = [4, 1, 1, 0, 's'];
export const scale = (bytes: 1 | 2 | 4, mul: number, div: number, offset: number, unit: string): Scale => [
  bytes,
  mul,
  div,
  offset,
  unit,
];

export function number(at: number, id: string, label: string, by: Scale, options: FieldOptions = {}): NumberField {
  const [bytes, mul, div, offset, unit] = by;
  return {
    kind: 'number',
    id,
    label,
    unit,
    at,
    bytes,
    signed: options.signed ?? false,
    mul,
    div,
    offset,
    support: options.support ?? null,
    nullRaw: options.nullRaw ?? null,
    suspectAbove: options.suspectAbove ?? null,
    scaledBy: options.scaledBy ?? null,
    signal: options.signal ?? null,
  };
}

export function bits(at: number, id: string, label: string, names: (string | null)[], supportAt?: number): BitsField {
  return { kind: 'bits', id, label, at, names, supportAt: supportAt ?? null };
}

export function choice(at: number, id: string, label: string, names: Record<number, string>): EnumField {
  return { kind: 'enum', id, label, at, names };
}

interface RowOptions {
  minBytes?: number;
  maxBytes?: number;
}

export function row(
  [pid, bytes, label]: readonly [number, number, string],
  fields: PidField[],
  [mark, source]: readonly [SourceMark, string],
  options: RowOptions = {},
): PidRow {
  return {
    pid,
    label,
    bytes,
    minBytes: options.minBytes ?? bytes,
    maxBytes: options.maxBytes ?? bytes,
    fields,
    mark,
    source,
  };
}

/** A row that holds one number, starting at byte A, whose label is the row's. */
export function scalar(
  [pid, id, label]: readonly [number, string, string],
  by: Scale,
  source: readonly [SourceMark, string],
  options: FieldOptions = {},
): PidRow {
  return row([pid, by[0], label], [number(0, id, label, by, options)], source);
}
