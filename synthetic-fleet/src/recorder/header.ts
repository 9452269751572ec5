import { isoInstant } from '../calendar.js';
import type { ChannelRow } from './channel-row.js';
import type { DialectRow } from './dialects.js';
import { UNIT_SETS } from './units.js';

/** What a header block says about where the log comes from. */
export interface LogIdentity {
  recorder: string;
  vehicle: string;
  vin: string;
  startMs: number;
  offsetMinutes: number;
  rateHz: number;
}

const WORDS = {
  en: { recorder: 'Recorder Serial', vehicle: 'Vehicle', vin: 'VIN', start: 'Start Time', rate: 'Sample Rate (Hz)' },
  de: { recorder: 'Seriennummer', vehicle: 'Fahrzeug', vin: 'VIN', start: 'Startzeit', rate: 'Abtastrate (Hz)' },
} as const;

/** Lines before the table: `key<delimiter>value`, ended by an empty line. */
export function preambleText(dialect: DialectRow, identity: LogIdentity): string {
  if (!dialect.preamble) return '';
  const words = dialect.language === 'de' ? WORDS.de : WORDS.en;
  const rows: [string, string][] = [
    [words.recorder, identity.recorder],
    ...(dialect.preamble === 'identity' ? ([[words.vehicle, identity.vehicle]] as [string, string][]) : []),
    [words.vin, identity.vin],
    [words.start, instantWithOffset(identity.startMs, identity.offsetMinutes)],
    [words.rate, String(identity.rateHz)],
  ];
  return `${rows.map((row) => row.join(dialect.delimiter) + dialect.lineEnd).join('')}${dialect.lineEnd}`;
}

/** The header line (and the unit row), and what each channel is called in it. */
export function headerLines(dialect: DialectRow, timeColumns: string[], channels: readonly ChannelRow[]) {
  const named = channels.map((channel) => ({
    header: columnName(dialect, channel.names[dialect.language], unitLabel(dialect, channel)),
    signal: channel.key,
    unit: unitLabel(dialect, channel),
  }));
  const tail = [...(dialect.extraChannels ?? []), ...(dialect.marker ? [dialect.marker] : [])];
  const names = [...timeColumns, ...named.map((channel) => channel.header), ...tail];
  const quote = (text: string) => (dialect.quoted ? `"${text}"` : text);
  const lines = [names.map(quote).join(dialect.delimiter)];
  if (dialect.unitPlace === 'row') {
    const units = [...timeColumns.map(() => ''), ...named.map((channel) => channel.unit), ...tail.map(() => '')];
    lines.push(units.join(dialect.delimiter));
  }
  return { text: lines.map((line) => line + dialect.lineEnd).join(''), channels: named };
}

export function unitLabel(dialect: DialectRow, channel: ChannelRow): string {
  if (channel.kind !== 'plain') return UNIT_SETS[dialect.units][channel.kind].label;
  return dialect.language === 'de' && channel.unit === 'rpm' ? '1/min' : channel.unit;
}

function columnName(dialect: DialectRow, name: string, unit: string): string {
  if (unit === '') return name;
  if (dialect.unitPlace === 'parentheses') return `${name} (${unit})`;
  if (dialect.unitPlace === 'brackets') return `${name} [${unit}]`;
  return name;
}

/** RFC 3339 with the zone's offset and tenths of a second. */
export function instantWithOffset(ms: number, offsetMinutes: number): string {
  const sign = offsetMinutes < 0 ? '-' : '+';
  const [hours, minutes] = [Math.floor(Math.abs(offsetMinutes) / 60), Math.abs(offsetMinutes) % 60];
  const two = (value: number) => String(value).padStart(2, '0');
  return `${isoInstant(ms + offsetMinutes * 60_000).slice(0, 21)}${sign}${two(hours)}:${two(minutes)}`;
}
