import type { LogPlan } from '../log/types.js';
import type { TextRow } from './cells.js';
import { CSV_LIMITS } from './limits.js';

export type PreambleLine = LogPlan['preamble'][number];

const VIN = /(?<![A-Z0-9])(?=[A-Z0-9]*\d)[A-HJ-NPR-Z0-9]{17}(?![A-Z0-9])/i;
const RECORDER_KEY =
  /serial|seriennummer|serien-?nr|n[úu]mero de serie|recorder|logger|device|unit ?id|ger[äa]t|registrador|aufzeichner|datenlogger/i;
const SERIAL_KEY = /serial|seriennummer|serien-?nr|n[úu]mero de serie|\bid\b|\bs\/?n\b/i;
const START_KEY =
  /start|begin|beginn|inicio|comienzo|recorded|recording|aufzeichnung|aufnahme|grabaci[óo]n|timestamp|logged/i;
const DATE_KEY = /^(log |file |rec(ording)? )?(date|datum|fecha)\b/i;
const TIME_KEY = /^(log |start )?(time|zeit|uhrzeit|hora)\b/i;
const ZONE_KEY = /time ?zone|zeitzone|zona horaria|huso|utc ?offset|\btz\b/i;

/** Lines before the header, as key and value where they have that shape: `key: value`, `key = value`, `key;value`. */
export function readPreamble(records: readonly TextRow[], delimiter: string): PreambleLine[] {
  return records
    .filter((record) => record.text.trim() !== '')
    .slice(0, CSV_LIMITS.maxPreambleLines)
    .map((record) => ({ line: record.line, text: record.text.slice(0, 1000), ...splitPair(record, delimiter) }));
}

export function splitPair(
  record: Pick<TextRow, 'text' | 'cells'>,
  delimiter: string,
): { key?: string; value?: string } {
  const bare = record.text.replace(/^[\s#;/%*"'-]+/, '').trim();
  const pair = /^([^:=]{1,60}?)\s*[:=]\s*(.+)$/.exec(bare);
  const cells = record.cells.map((cell) => cell.replace(/^[\s#/%*]+/, '').trim());
  const filled = cells.filter((cell) => cell !== '');
  if (filled.length >= 2 && record.text.includes(delimiter) && !(pair && filled[0]?.match(/[:=]./))) {
    const [key, ...rest] = filled as [string, ...string[]];
    return { key: key.replace(/\s*[:=]$/, ''), value: rest.join(' ') };
  }
  if (!pair) return {};
  return {
    key: (pair[1] as string).trim(),
    value: (pair[2] as string).replace(new RegExp(`[${delimiter}\\s"]+$`), '').trim(),
  };
}

export function findVin(text: string): string | null {
  const found = VIN.exec(text);
  return found ? found[0].toUpperCase() : null;
}

/** What the preamble says about the log as a whole; texts as written. */
export interface PreambleFacts {
  vin: string | null;
  recorder: string | null;
  /** Candidates for the start of the recording, most explicit first: date and clock, or date and clock of two lines. */
  starts: string[];
  date: string | null;
  zone: string | null;
}

export function preambleFacts(lines: readonly PreambleLine[]): PreambleFacts {
  const value = (test: (key: string) => boolean) =>
    lines.find((line) => line.key && line.value && test(line.key))?.value ?? null;
  const vins = lines.map((line) => findVin(line.value ?? line.text)).filter((vin) => vin !== null);
  const date = value((key) => DATE_KEY.test(key));
  const time = value((key) => TIME_KEY.test(key) && !ZONE_KEY.test(key));
  const starts = lines
    .filter((line) => line.key && isStartKey(line.key) && line.value)
    .map((line) => line.value as string);
  const joined = date && time ? [`${date} ${time}`] : [];
  const serial =
    value((key) => SERIAL_KEY.test(key) && RECORDER_KEY.test(key)) ??
    value((key) => RECORDER_KEY.test(key) && !/soft|firm|version/i.test(key));
  return {
    vin: new Set(vins).size === 1 ? (vins[0] ?? null) : null,
    recorder: serial,
    starts: [...starts, ...joined, ...(date ? [date] : [])],
    date,
    zone: value((key) => ZONE_KEY.test(key)),
  };
}

export function isStartKey(key: string): boolean {
  return START_KEY.test(key) && !ZONE_KEY.test(key);
}
