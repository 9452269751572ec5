import type { DateOrder } from './calendar-cells.js';
import type { TimePlan } from './types.js';

/**
 * How a time cell is read. For numbers: microseconds a unit, the instant or wall time of 0, and the step in microseconds
 * to which a reading is rounded.
 */
export interface TimeFormat {
  id: string;
  kind: TimePlan['kind'];
  read: 'calendar' | 'number' | 'hms';
  order: DateOrder | null;
  perUnitUs: number;
  zeroMs: number;
  stepUs: number;
  /** Cells say AM or PM; one that does not is read only where its hour leaves no doubt. */
  halves: boolean;
}

/** Day 0 of spreadsheets, 1899-12-30, seen from 1970: day 60 is a 29 February 1900 that never was, so later days agree. */
const SERIAL_ZERO_MS = -25_569 * 86_400_000;

/**
 * The closed table of time formats; `TimePlan.format` is one of these ids. In `-12h` formats a clock from 1 to 12
 * needs its AM or PM. A date whose day and month cannot be told apart is read as a clock.
 */
export const TIME_FORMATS = {
  iso: calendar('absolute', 'ymd'),
  'iso-local': calendar('local', 'ymd'),
  'iso-local-12h': { ...calendar('local', 'ymd'), halves: true },
  'iso-short': calendar('local', 'yymd'),
  dmy: calendar('local', 'dmy'),
  'dmy-12h': { ...calendar('local', 'dmy'), halves: true },
  mdy: calendar('local', 'mdy'),
  'mdy-12h': { ...calendar('local', 'mdy'), halves: true },
  'dmy-offset': calendar('absolute', 'dmy'),
  'mdy-offset': calendar('absolute', 'mdy'),
  'yymd-offset': calendar('absolute', 'yymd'),
  'dmy-or-mdy': calendar('clock', 'dmy'),
  clock: calendar('clock', null),
  'clock-12h': { ...calendar('clock', null), halves: true },
  'epoch-s': number('absolute', 1e6),
  'epoch-ms': number('absolute', 1e3),
  'epoch-us': number('absolute', 1),
  'epoch-ns': number('absolute', 1e-3),
  // A day with 15 digits is true to some microseconds only.
  'serial-day': { ...number('local', 86_400e6), zeroMs: SERIAL_ZERO_MS, stepUs: 1000 },
  'elapsed-s': number('elapsed', 1e6),
  'elapsed-ms': number('elapsed', 1e3),
  'elapsed-us': number('elapsed', 1),
  'elapsed-min': number('elapsed', 60e6),
  'elapsed-h': number('elapsed', 3600e6),
  'elapsed-hms': { ...number('elapsed', 0), read: 'hms' },
} as const satisfies Record<string, Omit<TimeFormat, 'id'>>;

export type TimeFormatId = keyof typeof TIME_FORMATS;

/** @throws RangeError for a format that is not in the table. */
export function timeFormat(id: string): TimeFormat {
  if (!Object.hasOwn(TIME_FORMATS, id)) throw new RangeError(`Time format "${id}" is not known.`);
  return { id, ...TIME_FORMATS[id as TimeFormatId] };
}

function calendar(kind: TimePlan['kind'], order: DateOrder | null) {
  return { kind, read: 'calendar', order, perUnitUs: 0, zeroMs: 0, stepUs: 1, halves: false } as const;
}

function number(kind: TimePlan['kind'], perUnitUs: number) {
  return { kind, read: 'number', order: null, perUnitUs, zeroMs: 0, stepUs: 1, halves: false } as const;
}
