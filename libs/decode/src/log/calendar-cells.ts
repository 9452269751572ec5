import { POWERS_OF_TEN } from './number-cells.js';

/** Order of a date's parts; `yymd`: the year stands first with two digits, which is never taken for granted. */
export type DateOrder = 'ymd' | 'dmy' | 'mdy' | 'yymd';

/** What a cell said; reused between calls. */
export interface CalendarFields {
  /** Midnight of the date, as if it were UTC; NaN = no date. */
  dayMs: number;
  /** Milliseconds since midnight; NaN = no clock. */
  clockMs: number;
  /** Offset of local time from UTC that the cell states; NaN = none. */
  offsetMs: number;
  twelveHour: boolean;
}

/** First three letters of month names in English, German and Spanish, accents dropped. */
const MONTHS: Readonly<Record<string, number>> = {
  ...{ jan: 1, feb: 2, mar: 3, apr: 4, may: 5, jun: 6, jul: 7, aug: 8, sep: 9, oct: 10, nov: 11, dec: 12 },
  ...{ mae: 3, mrz: 3, mai: 5, okt: 10, dez: 12, ene: 1, abr: 4, ago: 8, dic: 12 },
};
/** Names of weekdays in front of a date, in the same languages; `mar` alone is March. */
export const WEEKDAY =
  /^\s*(?:(?:mon|tue|wed|thu|fri|sat|sun|die|mit|don|fre|sam|son|lun|mie|jue|vie|sab|dom)[a-z]*|martes|mo|di|mi|do|fr|sa|so)(?![a-z])[.,]{0,2}\s*/i;
/** Zone names that state one offset: North America by RFC 5322 section 4.3, Europe by common use. Minutes. */
const ZONE_NAMES: Readonly<Record<string, number>> = {
  ...{ est: -300, edt: -240, cst: -360, cdt: -300, mst: -420, mdt: -360, pst: -480, pdt: -420 },
  ...{ wet: 0, west: 60, cet: 60, cest: 120, mez: 60, mesz: 120, eet: 120, eest: 180 },
};
const NO_BYTES: Uint8Array = new Uint8Array();
const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;
const MINUTE_MS = 60_000;
const [TAB, SPACE, COMMA, MINUS, DOT, SLASH, COLON] = [9, 32, 44, 45, 46, 47, 58] as const;
const [LETTER_A, LETTER_M, LETTER_P, LETTER_T, LETTER_Z] = [0x61, 0x6d, 0x70, 0x74, 0x7a] as const;

/**
 * Reads a calendar time: date by `order` (none when null), then a clock, AM or PM, and a zone. Separators are free:
 *   2026-03-01T08:15:00.250+01:00   01.03.2026 08:15:00,25   03/01/26 8:15:00 PM   1-Mar-2026 08:15   20260301 081500
 *   Sun, 1 Mar 2026 08:15:00 CET   Sun Mar  1 08:15:00 CET 2026   010326 081500
 * Returns false when the bytes are anything else, or the fields are out of range.
 */
export class CalendarReader implements CalendarFields {
  dayMs = Number.NaN;
  clockMs = Number.NaN;
  offsetMs = Number.NaN;
  twelveHour = false;
  private bytes = NO_BYTES;
  private at = 0;
  private end = 0;
  private digits = 0;
  private clockDots = false;

  read(bytes: Uint8Array, start: number, end: number, order: DateOrder | null): boolean {
    this.bytes = bytes;
    this.at = start;
    this.end = end;
    this.dayMs = this.clockMs = this.offsetMs = Number.NaN;
    this.twelveHour = false;
    this.skipSpace();
    if (order !== null) this.skipWeekday();
    if (order !== null && !this.readDate(order)) return false;
    // A date whose year stands last has its clock and zone inside.
    if (!Number.isNaN(this.clockMs)) return this.at === this.end;
    this.skipJoint();
    // 08.15.00 is a clock only behind a date: alone it may be a date or a number.
    this.clockDots = order !== null;
    if (this.at < this.end && this.isDigit() && !this.readClock()) return false;
    this.skipSpace();
    if (!this.readHalf() || !this.readZone()) return false;
    this.skipSpace();
    return this.at === this.end && (order !== null || !Number.isNaN(this.clockMs));
  }

  private readDate(order: DateOrder): boolean {
    const first = this.readPart();
    if (first < 0) return false;
    if (this.digits === 8 || this.digits === 14) return this.compactDate(order);
    if (this.digits === 6) return this.shortDate(order);
    const firstDigits = this.digits;
    if (!this.skipDateSeparator()) return false;
    const second = this.readPart();
    const secondDigits = this.digits;
    if (second < 0 || !this.skipDateSeparator()) return false;
    if (firstDigits + secondDigits <= 2 && this.isClock()) {
      if (order === 'ymd' || order === 'yymd') return false;
      return firstDigits === 0 ? this.yearLast(first, second) : secondDigits === 0 && this.yearLast(second, first);
    }
    const third = this.readPart();
    const thirdDigits = this.digits;
    if (third < 0) return false;
    if (order === 'ymd') return firstDigits === 4 && this.setDay(first, second, third);
    if (order === 'yymd') return firstDigits === 2 && thirdDigits <= 2 && this.setDay(2000 + first, second, third);
    if (thirdDigits !== 4 && thirdDigits !== 2) return false;
    const year = thirdDigits === 2 ? 2000 + third : third;
    // A month written in letters settles the order by itself.
    if (firstDigits === 0) return this.setDay(year, first, second);
    if (secondDigits === 0) return this.setDay(year, second, first);
    return order === 'dmy' ? this.setDay(year, second, first) : this.setDay(year, first, second);
  }

  /** `Jun 10 14:03:22 2026` (asctime, ISO C 7.27.3.1) and `10 Jun 14:03:22 CEST 2026` (date, POSIX): the year is the end. */
  private yearLast(month: number, day: number): boolean {
    if (!this.readClock()) return false;
    this.skipSpace();
    if (!this.readHalf() || !this.readZone()) return false;
    this.skipSpace();
    const year = this.readInteger();
    const isWhole = this.digits === 4;
    this.skipSpace();
    return isWhole && this.setDay(year, month, day);
  }

  /** ddmmyy, mmddyy or yymmdd. */
  private shortDate(order: DateOrder): boolean {
    const start = this.at - 6;
    const [a, b, c] = [this.fixed(start, 2), this.fixed(start + 2, 2), this.fixed(start + 4, 2)];
    if (order === 'ymd') return false;
    if (order === 'yymd') return this.setDay(2000 + a, b, c);
    return order === 'dmy' ? this.setDay(2000 + c, b, a) : this.setDay(2000 + c, a, b);
  }

  /** yyyymmdd, ddmmyyyy or mmddyyyy, with hhmmss behind it when there are 14 digits. */
  private compactDate(order: DateOrder): boolean {
    const start = this.at - this.digits;
    if (this.digits === 14) this.at -= 6;
    const part = (offset: number, length: number) => this.fixed(start + offset, length);
    if (order === 'yymd') return false;
    if (order === 'ymd') return this.setDay(part(0, 4), part(4, 2), part(6, 2));
    const [day, month] = order === 'dmy' ? [part(0, 2), part(2, 2)] : [part(2, 2), part(0, 2)];
    return this.setDay(part(4, 4), month, day);
  }

  private fixed(start: number, length: number): number {
    let value = 0;
    for (let at = start; at < start + length; at++) value = value * 10 + (this.bytes[at] as number) - 48;
    return value;
  }

  private setDay(year: number, month: number, day: number): boolean {
    if (year < 1900 || year > 2199 || month < 1 || month > 12 || day < 1 || day > daysInMonth(year, month))
      return false;
    this.dayMs = daysFromEpoch(year, month, day) * DAY_MS;
    return true;
  }

  private readClock(): boolean {
    const start = this.at;
    const hours = this.readInteger();
    if (this.digits === 6 || this.digits === 4) {
      const seconds = this.digits === 6 ? this.fixed(start + 4, 2) : 0;
      return this.setClock(this.fixed(start, 2), this.fixed(start + 2, 2), seconds, this.readFraction());
    }
    const mark = this.clockDots && this.bytes[this.at] === DOT ? DOT : COLON;
    if (this.digits > 2 || !this.take(mark)) return false;
    const minutes = this.readInteger();
    if (this.digits !== 2) return false;
    let seconds = 0;
    let fraction = 0;
    if (this.take(mark)) {
      seconds = this.readInteger();
      if (this.digits < 1 || this.digits > 2) return false;
      fraction = this.readFraction();
    }
    return this.setClock(hours, minutes, seconds, fraction);
  }

  private setClock(hours: number, minutes: number, seconds: number, fractionMs: number): boolean {
    if (hours > 23 || minutes > 59 || seconds > 60 || Number.isNaN(fractionMs)) return false;
    this.clockMs = hours * HOUR_MS + minutes * MINUTE_MS + seconds * 1000 + fractionMs;
    return true;
  }

  /** Fraction of a second after a dot, comma or colon, in milliseconds. */
  private readFraction(): number {
    if (!(this.take(DOT) || this.take(COMMA) || this.take(COLON))) return 0;
    const value = this.readInteger();
    if (this.digits === 0 || this.digits > 15) return Number.NaN;
    return this.digits <= 3
      ? value * (POWERS_OF_TEN[3 - this.digits] as number)
      : value / (POWERS_OF_TEN[this.digits - 3] as number);
  }

  /** AM or PM: also `a.m.`, `p. m.`. */
  private readHalf(): boolean {
    const letter = this.lower();
    if (letter !== LETTER_A && letter !== LETTER_P) return true;
    this.at++;
    this.take(DOT);
    this.skipSpace();
    if (this.lower() !== LETTER_M) return false;
    this.at++;
    this.take(DOT);
    this.skipSpace();
    const hours = Math.floor(this.clockMs / HOUR_MS);
    if (!(hours >= 1 && hours <= 12)) return false;
    this.twelveHour = true;
    if (hours === 12) this.clockMs -= 12 * HOUR_MS;
    if (letter === LETTER_P) this.clockMs += 12 * HOUR_MS;
    return true;
  }

  private skipWeekday(): void {
    if (this.lower() < LETTER_A || this.lower() > LETTER_Z) return;
    this.at += WEEKDAY.exec(this.text(16))?.[0].length ?? 0;
  }

  /** Z, UTC, GMT, CET, +01:00, -0500, +2. */
  private readZone(): boolean {
    if (this.lower() === LETTER_Z) {
      this.at++;
      this.offsetMs = 0;
      return true;
    }
    const name = /^[a-z]{3,4}(?![a-z])/.exec(this.text(5).toLowerCase())?.[0] ?? '';
    if (Object.hasOwn(ZONE_NAMES, name)) {
      this.at += name.length;
      this.offsetMs = (ZONE_NAMES[name] as number) * MINUTE_MS;
      return true;
    }
    const word = this.text(3).toLowerCase();
    if (word === 'utc' || word === 'gmt') {
      this.at += 3;
      this.offsetMs = 0;
      this.skipSpace();
    }
    const sign = this.bytes[this.at];
    if (this.at >= this.end || (sign !== 43 && sign !== MINUS)) return true;
    this.at++;
    let hours = this.readInteger();
    let minutes = 0;
    if (this.digits === 4) {
      minutes = hours % 100;
      hours = Math.floor(hours / 100);
    } else if (this.digits < 1 || this.digits > 2) return false;
    else if (this.take(COLON)) minutes = this.readInteger();
    if (hours > 14 || minutes > 59) return false;
    this.offsetMs = (hours * HOUR_MS + minutes * MINUTE_MS) * (sign === MINUS ? -1 : 1);
    return true;
  }

  /** A group of digits, or a month in letters (then `digits` is 0); -1 = neither. */
  private readPart(): number {
    if (this.isDigit()) return this.readInteger();
    const month = MONTHS[this.monthName()];
    this.digits = 0;
    if (month === undefined) return -1;
    while (this.at < this.end && this.isLetter()) this.at++;
    return month;
  }

  /** First three letters, `ä` of März as `a`: two bytes in UTF-8, one in Latin-1. */
  private monthName(): string {
    return this.text(4)
      .replace(/\u00c3\u00a4|\u00e4/, 'a')
      .slice(0, 3)
      .toLowerCase();
  }

  private isLetter(): boolean {
    return (this.bytes[this.at] as number) > 127 || (this.lower() >= LETTER_A && this.lower() <= LETTER_Z);
  }

  private readInteger(): number {
    let value = 0;
    const start = this.at;
    for (; this.at < this.end; this.at++) {
      const digit = (this.bytes[this.at] as number) - 48;
      if (digit < 0 || digit > 9) break;
      value = value * 10 + digit;
    }
    this.digits = this.at - start;
    return value;
  }

  private text(length: number): string {
    return String.fromCharCode(...this.bytes.subarray(this.at, Math.min(this.at + length, this.end)));
  }

  private skipDateSeparator(): boolean {
    const start = this.at;
    for (; this.at < this.end; this.at++) {
      const byte = this.bytes[this.at];
      if (byte !== MINUS && byte !== DOT && byte !== SLASH && byte !== SPACE && byte !== COMMA) break;
    }
    return this.at > start && this.at - start <= 2;
  }

  /** Between date and clock: `T`, spaces, a comma, an underscore. */
  private skipJoint(): void {
    if (this.lower() === LETTER_T || this.bytes[this.at] === 0x5f) this.at++;
    if (this.bytes[this.at] === COMMA) this.at++;
    this.skipSpace();
  }

  private skipSpace(): void {
    while (this.at < this.end && (this.bytes[this.at] === SPACE || this.bytes[this.at] === TAB)) this.at++;
  }

  private take(byte: number): boolean {
    if (this.at >= this.end || this.bytes[this.at] !== byte) return false;
    this.at++;
    return true;
  }

  private lower(): number {
    return this.at < this.end ? (this.bytes[this.at] as number) | 0x20 : 0;
  }

  private isClock(): boolean {
    return /^\d{1,2}:/.test(this.text(3));
  }

  private isDigit(): boolean {
    const digit = this.at < this.end ? (this.bytes[this.at] as number) - 48 : -1;
    return digit >= 0 && digit <= 9;
  }
}

export function daysInMonth(year: number, month: number): number {
  if (month === 2) return (year % 4 === 0 && year % 100 !== 0) || year % 400 === 0 ? 29 : 28;
  return month === 4 || month === 6 || month === 9 || month === 11 ? 30 : 31;
}

/** Days since 1970-01-01 in the proleptic Gregorian calendar; counted in years that start in March, so leap days end them. */
export function daysFromEpoch(year: number, month: number, day: number): number {
  const years = month <= 2 ? year - 1 : year;
  const era = Math.floor(years / 400);
  const yearOfEra = years - era * 400;
  const dayOfYear = Math.floor((153 * (month + (month > 2 ? -3 : 9)) + 2) / 5) + day - 1;
  const dayOfEra = yearOfEra * 365 + Math.floor(yearOfEra / 4) - Math.floor(yearOfEra / 100) + dayOfYear;
  return era * 146_097 + dayOfEra - 719_468;
}
