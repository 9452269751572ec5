import { readHeader } from '../signals/header.js';
import { splitWords } from '../signals/name-key.js';
import { findUnit } from '../units/convert.js';
import { CalendarReader, type DateOrder, WEEKDAY } from './calendar-cells.js';
import { BLANK_TOKENS } from './number-cells.js';
import { elapsedHms } from './row-clock.js';

/** What the cells of one column can be read as, from the rows of the head. */
export interface ColumnTimes {
  index: number;
  header: string;
  /** Orders by which (nearly) every cell reads as a date. */
  orders: DateOrder[];
  hasClock: boolean;
  hasOffset: boolean;
  twelveHour: boolean;
  /** Every cell is a clock without a date. */
  clockOnly: boolean;
  /** Every cell is a number; null = not. */
  numbers: number[] | null;
  /** Every cell is `h:mm:ss` where the hours pass 23 or the header says elapsed. */
  hms: boolean;
  /** Every cell is hhmmss in one number: `sure` where header or cells show it, `may` where they only allow it. */
  compactClock: 'sure' | 'may' | null;
  /** Order of the date's parts in the header's own words. */
  stated: DateOrder | null;
  dateSeparator: string | null;
  /** How strongly the header says time, 0..3. */
  named: number;
  /** Share of the head's rows that have a cell here. */
  coverage: number;
  /** The first cell that can be read. */
  first: string;
}

const STRONG =
  /^(times?|timestamps?|datetime|date|zeit|uhrzeit|datum|zeitstempel|zeitpunkt|hora|fecha|tiempo|utc|clock|messzeit|epoch|unixtime|unix)$/;
const ELAPSED =
  /^(elapsed|elapsedtime|offset|sec|secs|seconds|sekunden|segundos|s|ms|t|runtime|laufzeit|transcurrido|relative|relativ|rel|millis|milliseconds)$/;
const OTHER_CLOCK =
  /^(gps|start|end|last|run|mil|dtc|since|trip|clear|cleared|boot|fix|ende|desde|with|warm|idle|injection|regen)$/;
/** Share of the head's cells that must read as time: some may be torn, fewer where the header does not say time. */
const SHARE = 0.9;
const NAMED_SHARE = 0.6;

export function columnTimes(header: string, index: number, cells: readonly string[], comma: boolean): ColumnTimes {
  const named = namedTime(header);
  const stated = statedOrder(header);
  const present = cells.map((cell) => cell.trim()).filter((cell) => !BLANK_TOKENS.has(cell.toLowerCase()));
  const trimmed = spread(present);
  // A log has thousands of cells that are no time: without a name, only what looks like a date or clock is tried.
  const isTried = named > 0 || isFractionName(header) || /^\d{1,4}[-./:]\s?\w{1,3}[-./:]?/.test(trimmed[0] ?? '');
  // ddmmyy written as a number loses the zero of days up to nine.
  const filled = !isTried
    ? []
    : stated
      ? trimmed.map((cell) => (/^\d{5}$|^\d{7}$/.test(cell) ? `0${cell}` : cell))
      : trimmed;
  const enough = named > 0 ? NAMED_SHARE : SHARE;
  const shares = (['ymd', 'dmy', 'mdy', 'yymd'] as const).map((order) => ({
    order,
    share: readShare(filled, order).share,
  }));
  // An order that reads fewer cells than another is wrong: a day above twelve stood where it wants a month.
  const most = Math.max(enough, ...shares.map(({ share }) => share));
  const orders =
    isBareNumber(filled[0]) && !DATE_NAME.test(splitWords(header).join(' ')) && !stated
      ? []
      : shares.filter(({ share }) => share >= most).map(({ order }) => order);
  const seen = readShare(filled, orders[0] ?? null);
  const first = filled.find((cell) => readCalendar(cell, orders[0] ?? null) !== null) ?? filled[0] ?? '';
  const numbers = filled.map((cell) =>
    /^[+-]?(\d+([.,]\d*)?|[.,]\d+)(e[+-]?\d+)?$/i.test(cell)
      ? Number(comma ? cell.replace(',', '.') : cell)
      : Number.NaN,
  );
  const hms = filled.filter((cell) => !Number.isNaN(hmsOf(cell))).length;
  return {
    index,
    header,
    orders: filled.length > 0 ? orders : [],
    hasClock: seen.clocks >= enough && seen.share >= enough,
    hasOffset: seen.offsets >= enough && seen.share >= enough,
    // One AM or PM is enough: cells beside it that lack theirs may be either half of the day.
    twelveHour: seen.halves > 0,
    clockOnly:
      filled.length > 0 &&
      orders.length === 0 &&
      seen.share >= enough &&
      filled.filter((cell) => cell.includes(':')).length >= filled.length * enough,
    numbers:
      filled.length > 0 && numbers.filter(Number.isFinite).length >= filled.length * enough
        ? numbers.filter(Number.isFinite)
        : null,
    hms: filled.length > 0 && hms >= filled.length * enough,
    compactClock: compactClock(header, filled),
    stated,
    dateSeparator: /^\d{1,4}([-./ ])/.exec(first.replace(WEEKDAY, ''))?.[1] ?? null,
    named,
    coverage: present.length / Math.max(cells.length, 1),
    first,
  };
}

/** A column that names a date; six digits elsewhere are a count. */
const DATE_NAME = /\b(date|datum|fecha|datestamp|localdate|utcdate)\b/;

function isBareNumber(cell: string | undefined): boolean {
  return cell !== undefined && /^\d{6}$/.test(cell);
}

const [DAY, MONTH, YEAR] = ['(?:dd|tt)', 'mm', '(yyyy|jjjj|aaaa|yy|jj|aa)'] as const;
const PART = '[-./ ]?';
const END = '(?=$|[^a-z]|hh)';
/** Orders in the letters of English, German and Spanish: DD/MM/YYYY, ddmmyy, TT.MM.JJJJ, yyyymmdd. */
const STATED_ORDERS: readonly [RegExp, DateOrder, DateOrder][] = [
  [new RegExp(`(?<![a-z])${DAY}${PART}${MONTH}${PART}${YEAR}${END}`), 'dmy', 'dmy'],
  [new RegExp(`(?<![a-z])${MONTH}${PART}${DAY}${PART}${YEAR}${END}`), 'mdy', 'mdy'],
  [new RegExp(`(?<![a-z])${YEAR}${PART}${MONTH}${PART}${DAY}${END}`), 'ymd', 'yymd'],
];

/** The order of a date's parts that a header spells out; null = it does not. */
export function statedOrder(header: string): DateOrder | null {
  for (const [pattern, long, short] of STATED_ORDERS) {
    const year = pattern.exec(header.toLowerCase())?.[1];
    if (year !== undefined) return year.length === 4 ? long : short;
  }
  return null;
}

/** Cells of one minute and more, each second as often as the others, that never pass 59 in seconds or minutes. */
const [CLOCK_CELLS, CLOCK_RANGE, CLOCK_SECONDS] = [20, 100, 10] as const;

/**
 * Whether numbers are clocks written hhmmss. A count of seconds would pass 59 within a minute; steps of a hundred would
 * not, and show always the same "seconds".
 */
function compactClock(header: string, cells: readonly string[]): ColumnTimes['compactClock'] {
  if (DATE_NAME.test(splitWords(header).join(' '))) return null;
  if (cells.length === 0 || !cells.every((cell) => /^\d{1,6}([.,]\d*)?$/.test(cell))) return null;
  const values = cells.map((cell) => Math.trunc(Number(cell.replace(',', '.'))));
  const isClock = (value: number) => value < 240_000 && value % 10_000 < 6000 && value % 100 < 60;
  if (!values.every(isClock)) return null;
  if (/(?<![a-z])hh?mmss(?![a-z]{3})/i.test(header) || cells.some((cell) => /^0\d{5}(?!\d)/.test(cell))) return 'sure';
  const seconds = new Set(values.map((value) => value % 100));
  const range = Math.max(...values) - Math.min(...values);
  if (cells.length >= CLOCK_CELLS && range >= CLOCK_RANGE && seconds.size >= CLOCK_SECONDS) return 'sure';
  return cells.every((cell) => /^\d{6}/.test(cell)) ? 'may' : null;
}

/** Cells looked at in a column: the first ones, and as many again spread over the rest, since a day may pass. */
const SAMPLE_CELLS = 40;

function spread(cells: readonly string[]): readonly string[] {
  if (cells.length <= 2 * SAMPLE_CELLS) return cells;
  const step = (cells.length - SAMPLE_CELLS) / SAMPLE_CELLS;
  return [
    ...cells.slice(0, SAMPLE_CELLS),
    ...Array.from({ length: SAMPLE_CELLS }, (_, i) => cells[Math.floor(SAMPLE_CELLS + i * step)] as string),
  ];
}

const encoder = new TextEncoder();

const scratch = new Uint8Array(64);

/** Bytes of a cell. Short ASCII, which is nearly all of them, is written by hand: an encoder call costs far more. */
function bytesOf(text: string): Uint8Array {
  if (text.length > scratch.length) return encoder.encode(text);
  for (let at = 0; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code > 127) return encoder.encode(text);
    scratch[at] = code;
  }
  return scratch.subarray(0, text.length);
}

export function readCalendar(text: string, order: DateOrder | null): CalendarReader | null {
  const bytes = bytesOf(text);
  const reader = new CalendarReader();
  return reader.read(bytes, 0, bytes.length, order) ? reader : null;
}

export function hmsOf(text: string): number {
  const bytes = bytesOf(text);
  return elapsedHms(bytes, 0, bytes.length);
}

function readShare(cells: readonly string[], order: DateOrder | null) {
  let [read, clocks, offsets, halves] = [0, 0, 0, 0];
  const reader = new CalendarReader();
  for (const cell of cells) {
    const bytes = bytesOf(cell);
    if (!reader.read(bytes, 0, bytes.length, order)) continue;
    read++;
    if (!Number.isNaN(reader.clockMs)) clocks++;
    if (!Number.isNaN(reader.offsetMs)) offsets++;
    if (reader.twelveHour) halves++;
  }
  const of = (count: number) => count / Math.max(cells.length, 1);
  return { share: of(read), clocks: of(clocks), offsets: of(offsets), halves: of(halves) };
}

/** 3: named time or date and nothing else; 2: an elapsed word; 1: a time word beside others; 0: no. */
export function namedTime(header: string): number {
  const { name } = readHeader(header)[0] ?? { name: header };
  const words = splitWords(name).filter((word) => !/^\d+$/.test(word));
  const joined = words.join('');
  if (STRONG.test(joined) || words.every((word) => STRONG.test(word) || word === 'stamp' || word === 'local')) {
    return words.length > 0 ? 3 : 0;
  }
  if (words.some((word) => OTHER_CLOCK.test(word))) return words.some((word) => STRONG.test(word)) ? 1 : 0;
  if (ELAPSED.test(joined) || words.every((word) => ELAPSED.test(word) || STRONG.test(word) || word === 'sample'))
    return 2;
  return words.some((word) => STRONG.test(word)) ? 1 : 0;
}

/** `ms`, `Milliseconds`, `Time (ms)`: nothing but a fraction of a second. */
export function isFractionName(header: string): boolean {
  const words = splitWords(header).filter((word) => !STRONG.test(word));
  return words.length === 1 && ['ms', 'us'].includes(findUnit(words[0] as string, 'time')?.id ?? '');
}

/** Unit of a numeric time column, from its header or the unit row; null = not stated. */
export function timeUnit(header: string, unitRowCell: string | null): string | null {
  for (const reading of readHeader(header)) {
    const unit = findUnit(reading.unit ?? unitRowCell ?? '', 'time');
    if (unit?.quantity === 'time') return unit.id;
  }
  const bare = findUnit(header.trim(), 'time');
  return bare?.quantity === 'time' && bare.id !== 'd' ? bare.id : null;
}

/** Zone that a header names: `Time (UTC)`, `UTC time`, `Zeit [Europe/Berlin]`, `Time (UTC+2)`. */
export function headerZone(header: string): string | null {
  const iana = /\b([A-Z][A-Za-z]+\/[A-Z][A-Za-z_]+(?:\/[A-Z][A-Za-z_]+)?)\b/.exec(header);
  if (iana) return iana[1] as string;
  return offsetZone(header);
}

/** `UTC`, `GMT+2`, `UTC-05:30` as a zone name; null = none there. */
export function offsetZone(text: string): string | null {
  const match = /\b(?:utc|gmt)(?:\s*([+-])\s*(\d{1,2})(?::?(\d{2}))?)?/i.exec(text);
  if (match) {
    const [, sign, hours = '0', minutes = '00'] = match;
    if (!sign || Number(hours) + Number(minutes) === 0) return 'UTC';
    return `${sign}${hours.padStart(2, '0')}:${minutes}`;
  }
  const bare = /^\s*([+-])(\d{2}):?(\d{2})\s*$/.exec(text);
  return bare ? `${bare[1]}${bare[2]}:${bare[3]}` : null;
}
