import type { TimeStyle } from './dialects.js';
import type { RowBuffer } from './row-buffer.js';

const COLON = 58;
const DASH = 45;
const SPACE = 32;
const DOT = 46;
const SLASH = 47;

/** Wall-clock fields of an instant, for a fixed offset from UTC. */
interface Wall {
  year: number;
  month: number;
  day: number;
  hour: number;
  minute: number;
  second: number;
  milli: number;
}

/** Writes the time columns of a row in one style. */
export interface Clock {
  /** Header names of its columns. */
  columns: string[];
  write(out: RowBuffer, ms: number): void;
}

export interface ClockSetup {
  offsetMinutes: number;
  startMs: number;
  language: 'en' | 'short' | 'de' | 'es';
  delimiterCode: number;
  /** Fractions of a second are written with this many digits where the style has them. */
  fraction: 1 | 3;
}

const COLUMNS: Record<TimeStyle, Partial<Record<ClockSetup['language'], string[]>> & { en: string[] }> = {
  'iso-utc': { en: ['Timestamp'] },
  'iso-offset': { en: ['Time'] },
  'iso-local': { en: ['Local Time'] },
  'mdy-12h-split': { en: ['Date', 'Time'] },
  'dmy-dots': { en: ['Time'], de: ['Zeit'] },
  'dmy-slash-split': { en: ['Date', 'Time'], es: ['Fecha', 'Hora'] },
  clock: { en: ['Time'] },
  'elapsed-s': { en: ['Elapsed Time (s)'], short: ['Elapsed (s)'], de: ['Zeit (s)'] },
  'epoch-ms': { en: ['Timestamp (ms)'], short: ['timestamp_ms'] },
  'epoch-s': { en: ['Epoch Time (s)'] },
};

export function makeClock(style: TimeStyle, setup: ClockSetup): Clock {
  const columns = COLUMNS[style][setup.language] ?? COLUMNS[style].en;
  const writeStyle = WRITERS[style];
  let day = Number.NaN;
  let date = { year: 0, month: 0, day: 0 };
  const wall = (ms: number): Wall => {
    const local = ms + setup.offsetMinutes * 60_000;
    const days = Math.floor(local / 86_400_000);
    if (days !== day) {
      const at = new Date(days * 86_400_000);
      date = { year: at.getUTCFullYear(), month: at.getUTCMonth() + 1, day: at.getUTCDate() };
      day = days;
    }
    const inDay = Math.round(local - days * 86_400_000);
    return {
      ...date,
      hour: Math.floor(inDay / 3_600_000),
      minute: Math.floor(inDay / 60_000) % 60,
      second: Math.floor(inDay / 1000) % 60,
      milli: inDay % 1000,
    };
  };
  return { columns, write: (out, ms) => writeStyle(out, { ms, wall, setup }) };
}

interface Moment {
  ms: number;
  wall: (ms: number) => Wall;
  setup: ClockSetup;
}

const WRITERS: Record<TimeStyle, (out: RowBuffer, at: Moment) => void> = {
  'iso-utc': (out, at) => {
    ymd(out, at.wall(at.ms - at.setup.offsetMinutes * 60_000));
    out.byte(84);
    hms(out, at.wall(at.ms - at.setup.offsetMinutes * 60_000), 3);
    out.byte(90);
  },
  'iso-offset': (out, at) => {
    ymd(out, at.wall(at.ms));
    out.byte(84);
    hms(out, at.wall(at.ms), at.setup.fraction);
    offset(out, at.setup.offsetMinutes);
  },
  'iso-local': (out, at) => {
    ymd(out, at.wall(at.ms));
    out.byte(SPACE);
    hms(out, at.wall(at.ms), at.setup.fraction);
  },
  'mdy-12h-split': (out, at) => {
    const wall = at.wall(at.ms);
    separated(out, [wall.month, wall.day], SLASH);
    out.byte(SLASH);
    out.padded(wall.year, 4);
    out.byte(at.setup.delimiterCode);
    hms(out, { ...wall, hour: wall.hour % 12 === 0 ? 12 : wall.hour % 12 }, at.setup.fraction);
    out.text(wall.hour < 12 ? ' AM' : ' PM');
  },
  'dmy-dots': (out, at) => {
    const wall = at.wall(at.ms);
    separated(out, [wall.day, wall.month], DOT);
    out.byte(DOT);
    out.padded(wall.year, 4);
    out.byte(SPACE);
    hms(out, wall, at.setup.fraction);
  },
  'dmy-slash-split': (out, at) => {
    const wall = at.wall(at.ms);
    separated(out, [wall.day, wall.month], SLASH);
    out.byte(SLASH);
    out.padded(wall.year, 4);
    out.byte(at.setup.delimiterCode);
    hms(out, wall, at.setup.fraction);
  },
  clock: (out, at) => hms(out, at.wall(at.ms), 3),
  'elapsed-s': (out, at) => out.fixed((at.ms - at.setup.startMs) / 1000, at.setup.fraction),
  'epoch-ms': (out, at) => out.fixed(at.ms, 0),
  'epoch-s': (out, at) => out.fixed(at.ms / 1000, at.setup.fraction),
};

function ymd(out: RowBuffer, wall: Wall): void {
  out.padded(wall.year, 4);
  out.byte(DASH);
  separated(out, [wall.month, wall.day], DASH);
}

function hms(out: RowBuffer, wall: Wall, fraction: 1 | 3): void {
  separated(out, [wall.hour, wall.minute, wall.second], COLON);
  out.byte(out.decimalCode);
  if (fraction === 3) out.padded(wall.milli, 3);
  else out.padded(Math.floor(wall.milli / 100), 1);
}

function separated(out: RowBuffer, numbers: number[], separator: number): void {
  numbers.forEach((number, index) => {
    if (index > 0) out.byte(separator);
    out.padded(number, 2);
  });
}

function offset(out: RowBuffer, minutes: number): void {
  out.byte(minutes < 0 ? DASH : 43);
  separated(out, [Math.floor(Math.abs(minutes) / 60), Math.abs(minutes) % 60], COLON);
}
