import { matchHeader } from '../signals/match.js';
import type { DateOrder } from './calendar-cells.js';
import { decideOrder, type OrderEvidence } from './date-order.js';
import { type ColumnTimes, isFractionName, timeUnit } from './time-columns.js';
import { type TimeFormatId, timeFormat } from './time-formats.js';

/** Which columns tell the time, and how they are read. */
export interface TimeChoice {
  columns: number[];
  format: TimeFormatId;
  why: string;
  /** A column of its own for the part below a second. */
  fraction?: { column: number; perUnitMs: number };
  /** Digits to which numeric cells are filled up, one for each of `columns`. */
  fill?: number[];
}

type Evidence = Omit<OrderEvidence, 'twelveHour'>;

/** Seconds since 1970 of 1990-01-01 and of 2100-01-01: epoch times lie between. */
const EPOCH_FROM_S = 631_152_000;
const EPOCH_TO_S = 4_102_444_800;

/**
 * Picks the time of a log: date and clock in one column, in two, epoch numbers, spreadsheet days, clock alone, elapsed
 * time; in this order, and the better named column first. Null = no column can be read as time.
 */
export function chooseTime(
  columns: readonly ColumnTimes[],
  unitCells: readonly (string | null)[],
  evidence: Evidence,
): TimeChoice | null {
  const choice =
    oneColumn(columns, evidence) ??
    twoColumns(columns, evidence) ??
    epoch(columns) ??
    serialDay(columns) ??
    clockAlone(columns) ??
    elapsed(columns, unitCells);
  return choice && withFraction(choice, columns);
}

/** Why the column that is named like elapsed time is none, in words; null = there is no such column. */
export function refusedTime(columns: readonly ColumnTimes[]): string | null {
  const found = best(columns.filter(({ named, numbers }) => named >= 1 && numbers !== null));
  const numbers = found?.numbers ?? [];
  if (!found || numbers.length < 2) return null;
  const [first, last] = [numbers[0], numbers.at(-1)];
  const falls = numbers.filter((value, index) => value < (numbers[index - 1] ?? value)).length;
  if (falls === 0) return null;
  if (falls === numbers.length - 1) return `"${found.header}" runs downward, from ${first} to ${last}.`;
  return `"${found.header}" falls back ${falls} times in the first rows, too often for time that passes.`;
}

/** Formats whose cells may stop at whole seconds. */
const WHOLE_SECONDS: ReadonlySet<string> = new Set(['epoch-s', 'elapsed-s', 'elapsed-hms']);
/** Milliseconds and microseconds below one second, by the id of their unit. */
const FRACTIONS = { ms: { below: 1e3, perUnitMs: 1 }, us: { below: 1e6, perUnitMs: 1e-3 } } as const;

/** Rows a fraction of a second apart, whose times stop at whole seconds, have the rest in a column behind them. */
function withFraction(choice: TimeChoice, columns: readonly ColumnTimes[]): TimeChoice {
  const isWhole = choice.columns.every((at) => !/[:\d][.,]\d*[1-9]\d*\s*([ap]m)?$/i.test(columns[at]?.first ?? ''));
  const { read } = timeFormat(choice.format);
  if (!isWhole || (read === 'number' && !WHOLE_SECONDS.has(choice.format))) return choice;
  const next = columns[Math.max(...choice.columns) + 1];
  const unit = next ? timeUnit(next.header, null) : null;
  if (!next || !(unit === 'ms' || unit === 'us') || !isFractionName(next.header)) return choice;
  const { below, perUnitMs } = FRACTIONS[unit];
  const isBelow = (value: number) => value >= 0 && value < below && Number.isInteger(value);
  if (!isMost(next.numbers, isBelow) || isRising(next.numbers)) return choice;
  const why = `${choice.why}; "${next.header}" has the part below a second`;
  return { ...choice, why, fraction: { column: next.index, perUnitMs } };
}

function oneColumn(columns: readonly ColumnTimes[], evidence: Evidence): TimeChoice | null {
  const calendars = columns.filter((column) => column.orders.length > 0 && column.hasClock);
  const whole = best(calendars);
  if (!whole) return null;
  // Of two clocks the one with parts of a second; the zone of the other tells its own.
  const found =
    (whole.hasOffset && !isFine(whole) && best(calendars.filter((column) => !column.hasOffset && isFine(column)))) ||
    whole;
  const { order, why } = decideOrder(found, { ...evidence, twelveHour: found.twelveHour });
  return {
    columns: [found.index],
    format: calendarFormat(order, found.hasOffset, found.twelveHour),
    why: `"${found.header}": ${why}`,
  };
}

function isFine({ first, named, coverage }: ColumnTimes): boolean {
  return named >= 1 && coverage >= 0.9 && /:\d{2}[.,]\d/.test(first);
}

function twoColumns(columns: readonly ColumnTimes[], evidence: Evidence): TimeChoice | null {
  const date = best(columns.filter((column) => column.orders.length > 0 && !column.hasClock && column.named >= 1));
  const clocks = columns.filter((column) => column.clockOnly || isCompactClock(column, date));
  const clock = date ? best(clocks.filter((column) => column.index !== date.index && column.named >= 1)) : undefined;
  if (!date || !clock) return null;
  const { order, why } = decideOrder(date, { ...evidence, twelveHour: clock.twelveHour });
  const format = calendarFormat(order, clock.hasOffset, clock.twelveHour);
  return {
    ...{ columns: [date.index, clock.index], format, why: `"${date.header}" and "${clock.header}": ${why}` },
    ...(clock.compactClock ? { fill: [dateDigits(date), 6] } : {}),
  };
}

/** hhmmss without separators beside a date column. */
function isCompactClock({ named, compactClock }: ColumnTimes, date: ColumnTimes | undefined): boolean {
  if (compactClock === 'sure') return named >= 1;
  return compactClock === 'may' && (named >= 2 || (named === 1 && /^\d{6}(\d\d)?$/.test(date?.first ?? '')));
}

/** ddmmyy or ddmmyyyy as a number has lost the zero of days up to nine; only where the header spells the order out. */
function dateDigits({ stated, first }: ColumnTimes): number {
  const digits = /^\d+(?=\D|$)/.exec(first)?.[0].length ?? 0;
  return stated && (digits === 6 || digits === 8) ? digits : 0;
}

function calendarFormat(order: DateOrder | null, hasOffset: boolean, twelveHour: boolean): TimeFormatId {
  if (order === null) return 'dmy-or-mdy';
  if (hasOffset) return order === 'ymd' ? 'iso' : `${order}-offset`;
  if (order === 'yymd') return 'iso-short';
  if (order === 'ymd') return twelveHour ? 'iso-local-12h' : 'iso-local';
  return twelveHour ? `${order}-12h` : order;
}

const EPOCHS = [
  { format: 'epoch-s', perSecond: 1, words: 'seconds' },
  { format: 'epoch-ms', perSecond: 1e3, words: 'milliseconds' },
  { format: 'epoch-us', perSecond: 1e6, words: 'microseconds' },
  { format: 'epoch-ns', perSecond: 1e9, words: 'nanoseconds' },
] as const;

function epoch(columns: readonly ColumnTimes[]): TimeChoice | null {
  for (const { format, perSecond, words } of EPOCHS) {
    const inRange = (value: number) => value >= EPOCH_FROM_S * perSecond && value <= EPOCH_TO_S * perSecond;
    const found = best(columns.filter((column) => column.named >= 1 && isMost(column.numbers, inRange)));
    if (found) return { columns: [found.index], format, why: `"${found.header}": ${words} since 1970 by their size` };
  }
  return null;
}

/** Days of spreadsheets from 2000 to 2100. */
const [SERIAL_FROM, SERIAL_TO] = [36_526, 73_051];
/** Rows a minute apart, in days. Seconds in the same range would be sampled a thousand times as often as recorders do. */
const SERIAL_MAX_STEP = 1 / 1440;

function serialDay(columns: readonly ColumnTimes[]): TimeChoice | null {
  const inRange = (value: number) => value >= SERIAL_FROM && value < SERIAL_TO;
  const found = best(
    columns.filter(
      ({ named, numbers, header }) =>
        (named === 1 || named === 3) &&
        isMost(numbers, inRange) &&
        isRising(numbers) &&
        medianStep(numbers ?? []) <= SERIAL_MAX_STEP &&
        timeUnit(header, null) === null,
    ),
  );
  const why = 'days of a spreadsheet by their size and their steps of less than a minute';
  return found ? { columns: [found.index], format: 'serial-day', why: `"${found.header}": ${why}` } : null;
}

function clockAlone(columns: readonly ColumnTimes[]): TimeChoice | null {
  const found = best(columns.filter((column) => column.clockOnly && (column.named >= 1 || column.index === 0)));
  if (!found) return compactAlone(columns);
  const { index, header } = found;
  if (found.named === 2 || (found.hms && /^0?0:00:00/.test(found.first))) {
    return { columns: [index], format: 'elapsed-hms', why: `"${header}": counts up from ${found.first}` };
  }
  return {
    columns: [index],
    format: found.twelveHour ? 'clock-12h' : 'clock',
    why: `"${header}": a clock without a date`,
  };
}

function compactAlone(columns: readonly ColumnTimes[]): TimeChoice | null {
  const found = best(columns.filter(({ named, compactClock }) => named >= 1 && compactClock === 'sure'));
  if (!found || timeUnit(found.header, null) !== null) return null;
  const why = `"${found.header}": hours, minutes and seconds in one number, without a date`;
  return { columns: [found.index], format: 'clock', why, fill: [6] };
}

function elapsed(columns: readonly ColumnTimes[], unitCells: readonly (string | null)[]): TimeChoice | null {
  const hms = best(columns.filter((column) => column.hms && (column.named >= 1 || column.index === 0)));
  if (hms)
    return {
      columns: [hms.index],
      format: 'elapsed-hms',
      why: `"${hms.header}": hours, minutes and seconds that pass`,
    };
  const rising = columns.filter((column) => isRising(column.numbers));
  const found =
    best(rising.filter((column) => column.named >= 2)) ??
    best(rising.filter((column) => column.named === 1 && column.index === 0)) ??
    // Nothing else tells the time: the engine's own count of seconds since its start does.
    best(rising.filter(({ header, index }) => matchHeader(header, unitCells[index]).row?.id === 'run_time_s'));
  if (!found) return null;
  const unit = timeUnit(found.header, unitCells[found.index] ?? null);
  const format = unit ? UNIT_FORMATS[unit] : undefined;
  if (format) return { columns: [found.index], format, why: `"${found.header}": elapsed time in ${unit}` };
  const guess = bySteps(found.numbers ?? []);
  return {
    columns: [found.index],
    format: guess.format,
    why: `"${found.header}": elapsed time, no unit stated; ${guess.why}`,
  };
}

const UNIT_FORMATS: Readonly<Record<string, TimeFormatId>> = {
  s: 'elapsed-s',
  ms: 'elapsed-ms',
  us: 'elapsed-us',
  min: 'elapsed-min',
  h: 'elapsed-h',
};

/** Recorders sample between 100 times a second and once in some seconds: whole steps of 10 and more are milliseconds. */
function bySteps(values: readonly number[]): { format: TimeFormatId; why: string } {
  const steps = stepsUp(values);
  const median = steps[steps.length >> 1] ?? 1;
  if (median >= 10 && steps.every(Number.isInteger))
    return { format: 'elapsed-ms', why: `whole steps of ${median} are milliseconds` };
  return { format: 'elapsed-s', why: `steps of ${median} are seconds` };
}

/** Steps forward, sorted. */
function stepsUp(values: readonly number[]): number[] {
  return values
    .slice(1)
    .map((value, index) => value - (values[index] as number))
    .filter((step) => step > 0)
    .sort((a, b) => a - b);
}

/** One step in the middle; infinite when there is none. */
function medianStep(values: readonly number[]): number {
  const steps = stepsUp(values);
  return steps[steps.length >> 1] ?? Number.POSITIVE_INFINITY;
}

function isRising(numbers: readonly number[] | null): boolean {
  if (!numbers) return false;
  let falls = 0;
  for (let index = 1; index < numbers.length; index++) {
    if ((numbers[index] as number) < (numbers[index - 1] as number)) falls++;
  }
  const grows = numbers.length < 2 || numbers.some((value) => value > (numbers[0] as number));
  return falls <= Math.max(1, numbers.length * 0.1) && grows;
}

function isMost(numbers: readonly number[] | null, test: (value: number) => boolean): boolean {
  return numbers !== null && numbers.filter(test).length >= numbers.length * 0.8;
}

/** A satellite clock is blank until it has a fix: of two that are named alike the fuller one, else the first. */
function best(columns: readonly ColumnTimes[]): ColumnTimes | undefined {
  return [...columns].sort((a, b) => b.named - a.named || b.coverage - a.coverage || a.index - b.index)[0];
}
