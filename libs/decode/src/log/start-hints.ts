import { type DateOrder, daysInMonth } from './calendar-cells.js';
import { readCalendar } from './time-columns.js';

const DAY_MS = 86_400_000;

/** A date, and a wall time when one stands behind it, found in a name or a line of text. */
export interface NamedStart {
  date: string;
  /** `HH:MM:SS.mmm`, null = only a date. */
  clock: string | null;
}

const NAME_DATE =
  /(?<!\d)(20\d\d)([-_.]?)(\d\d)\2(\d\d)(?:[T\s_-]*(?:at[\s_-]*)?(\d\d)[-_.:h]?(\d\d)[-_.:m]?(\d\d)?(?!\d)|(?!\d))/g;
const NAME_DATE_GERMAN = /(?<!\d)(\d\d)\.(\d\d)\.(20\d\d)(?:[T\s_-]+(\d\d)[-_.:h](\d\d)(?:[-_.:m](\d\d))?)?(?!\d)/;

/** `2017-07-26_…`, `20260301_081500.csv`, `log 26.07.2017 08-15.csv`: year first, or with dots. Null = no such date. */
export function startFromFileName(fileName: string): NamedStart | null {
  const base = fileName.split(/[\\/]/).pop() ?? fileName;
  for (const [, year, , month, day, hours, minutes, seconds] of base.matchAll(NAME_DATE)) {
    const date = isoDate(Number(year), Number(month), Number(day));
    if (date) return { date, clock: isoClock(hours, minutes, seconds) };
  }
  const german = NAME_DATE_GERMAN.exec(base);
  if (!german) return null;
  const date = isoDate(Number(german[3]), Number(german[2]), Number(german[1]));
  return date ? { date, clock: isoClock(german[4], german[5], german[6]) } : null;
}

function isoDate(year: number, month: number, day: number): string | null {
  if (month < 1 || month > 12 || day < 1 || day > daysInMonth(year, month)) return null;
  return `${year}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`;
}

function isoClock(hours?: string, minutes?: string, seconds = '00'): string | null {
  if (hours === undefined || minutes === undefined) return null;
  if (Number(hours) > 23 || Number(minutes) > 59 || Number(seconds) > 59) return null;
  return `${hours}:${minutes}:${seconds}.000`;
}

/** A start written in a preamble line. `utcMs` when the text states its offset. */
export interface WrittenStart {
  utcMs: number | null;
  local: string | null;
  date: string;
}

/**
 * Reads a start as a recorder writes it in its preamble. Year first is plain; otherwise the order must be known, or be
 * forced by a number above twelve. Null = not a date, or ambiguous.
 */
export function readWrittenStart(text: string, order: DateOrder | null): WrittenStart | null {
  // Six digits may be ddmmyy, mmddyy or yymmdd, and one of them nearly always reads.
  if (/^\s*\d{6}(?!\d)/.test(text)) return null;
  const iso = readCalendar(text, 'ymd');
  const dmy = readCalendar(text, 'dmy');
  const mdy = readCalendar(text, 'mdy');
  let read = iso;
  if (!read && dmy && mdy && dmy.dayMs !== mdy.dayMs) read = order === 'dmy' ? dmy : order === 'mdy' ? mdy : null;
  else read ??= dmy ?? mdy;
  if (!read) return null;
  const date = dateText(read.dayMs);
  if (Number.isNaN(read.clockMs)) return { utcMs: null, local: null, date };
  const localMs = read.dayMs + read.clockMs;
  const utcMs = Number.isNaN(read.offsetMs) ? null : localMs - read.offsetMs;
  return { utcMs, local: localText(localMs), date };
}

export function dateText(ms: number): string {
  return new Date(Math.floor(ms / DAY_MS) * DAY_MS).toISOString().slice(0, 10);
}

/** `YYYY-MM-DDTHH:MM:SS.mmm` of a wall time given as if it were UTC. */
export function localText(ms: number): string {
  return new Date(Math.round(ms)).toISOString().slice(0, 23);
}
