import type { Language } from './channel-row.js';
import type { UnitSetId } from './units.js';

/** How one make of recorder writes its logs. A new recorder is a new row. */
export interface DialectRow {
  id: string;
  encoding: 'utf-8' | 'latin1' | 'utf-16le';
  bom: boolean;
  delimiter: ',' | ';' | '\t';
  decimal: '.' | ',';
  lineEnd: '\n' | '\r\n';
  language: Language;
  units: UnitSetId;
  /** Where units stand: `(unit)` or `[unit]` after the name, in a row under the header, or nowhere. */
  unitPlace: 'parentheses' | 'brackets' | 'row' | 'none';
  time: TimeStyle;
  /** Rows a second in a mixed fleet. */
  mixedRateHz: number;
  maxChannels: number;
  /** `one`: a row carries only the signal that was just refreshed. `held`: it repeats the others. */
  sparse?: 'one' | 'held';
  marker?: string;
  /** Header block before the table; `identity` lines name vehicle, VIN and recorder. */
  preamble?: 'identity' | 'start';
  quoted?: true;
  /** Channels that no catalogue can know. */
  extraChannels?: readonly string[];
  fileName: 'plain' | 'dated';
  /** What the sender must add beside the vehicle or recorder. */
  send: { timeZone?: true; recordedAt?: true; fileName?: true };
  /** A saved profile is needed to read it: `units` are nowhere and not canonical, or the date order is ambiguous. */
  profile?: 'units' | 'dmy';
}

export type TimeStyle =
  | 'iso-utc'
  | 'iso-offset'
  | 'iso-local'
  | 'mdy-12h-split'
  | 'dmy-dots'
  | 'dmy-slash-split'
  | 'clock'
  | 'elapsed-s'
  | 'epoch-ms'
  | 'epoch-s';

type Base = Pick<
  DialectRow,
  | 'encoding'
  | 'bom'
  | 'delimiter'
  | 'decimal'
  | 'lineEnd'
  | 'language'
  | 'units'
  | 'unitPlace'
  | 'mixedRateHz'
  | 'maxChannels'
  | 'fileName'
  | 'send'
>;

const PLAIN: Base = {
  encoding: 'utf-8',
  bom: false,
  delimiter: ',',
  decimal: '.',
  lineEnd: '\n',
  language: 'en',
  units: 'si',
  unitPlace: 'parentheses',
  mixedRateHz: 1,
  maxChannels: 90,
  fileName: 'plain',
  send: {},
};
const GERMAN = { delimiter: ';', decimal: ',', lineEnd: '\r\n', language: 'de', unitPlace: 'brackets' } as const;
const SPANISH = { delimiter: ';', decimal: ',', lineEnd: '\r\n', language: 'es', unitPlace: 'row' } as const;

export const DIALECTS = [
  { ...PLAIN, id: 'plain-iso', time: 'iso-utc', mixedRateHz: 10, maxChannels: 60 },
  {
    ...PLAIN,
    id: 'us-split-clock',
    bom: true,
    lineEnd: '\r\n',
    language: 'short',
    units: 'us',
    time: 'mdy-12h-split',
    send: { timeZone: true },
  },
  { ...PLAIN, ...GERMAN, id: 'german-latin1', encoding: 'latin1', time: 'dmy-dots', send: { timeZone: true } },
  {
    ...PLAIN,
    ...SPANISH,
    id: 'spanish-unit-row',
    units: 'si',
    time: 'dmy-slash-split',
    send: { timeZone: true },
    profile: 'dmy',
  },
  {
    ...PLAIN,
    id: 'utf16-tab-elapsed',
    encoding: 'utf-16le',
    bom: true,
    delimiter: '\t',
    lineEnd: '\r\n',
    units: 'mixed',
    unitPlace: 'brackets',
    time: 'elapsed-s',
    preamble: 'start',
  },
  {
    ...PLAIN,
    id: 'date-in-name-held',
    units: 'si',
    unitPlace: 'brackets',
    time: 'clock',
    mixedRateHz: 5,
    maxChannels: 16,
    sparse: 'held',
    fileName: 'dated',
    send: { timeZone: true, fileName: true },
  },
  { ...PLAIN, id: 'epoch-no-units', language: 'short', unitPlace: 'none', time: 'epoch-ms', mixedRateHz: 2 },
  {
    ...PLAIN,
    id: 'us-no-units-elapsed',
    language: 'short',
    units: 'us',
    unitPlace: 'none',
    time: 'elapsed-s',
    send: { recordedAt: true },
    profile: 'units',
  },
  {
    ...PLAIN,
    id: 'bar-unit-row',
    delimiter: ';',
    units: 'bar',
    unitPlace: 'row',
    time: 'iso-local',
    mixedRateHz: 2,
    send: { timeZone: true },
    extraChannels: ['Aux input 3', 'Spare 7'],
  },
  {
    ...PLAIN,
    id: 'block-marker',
    lineEnd: '\r\n',
    units: 'us-words',
    time: 'iso-offset',
    marker: 'Event',
    preamble: 'identity',
  },
  {
    ...PLAIN,
    id: 'tab-epoch-aux',
    delimiter: '\t',
    time: 'epoch-s',
    extraChannels: ['Aux input 3', 'Aux input 4', 'Digital 2', 'Xchg word'],
  },
  { ...PLAIN, id: 'quoted-us', quoted: true, units: 'us', time: 'iso-offset', mixedRateHz: 2 },
  {
    ...PLAIN,
    id: 'sparse-one',
    units: 'us-words',
    unitPlace: 'brackets',
    time: 'iso-utc',
    mixedRateHz: 5,
    maxChannels: 16,
    sparse: 'one',
    marker: 'Marker',
  },
  {
    ...PLAIN,
    ...GERMAN,
    id: 'german-utf8-start',
    encoding: 'utf-8',
    bom: true,
    units: 'bar',
    unitPlace: 'parentheses',
    time: 'elapsed-s',
    preamble: 'identity',
  },
] as const satisfies readonly DialectRow[];

export type DialectId = (typeof DIALECTS)[number]['id'];

export function dialect(id: DialectId): DialectRow {
  return DIALECTS.find((row) => row.id === id) as DialectRow;
}
