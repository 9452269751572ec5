import {
  asideId,
  type NoteList,
  type OverlapReport,
  type Recording,
  type RecordingList,
  type Trace,
  type Upload,
} from '@tallybay/contracts';
import { isSignalId, readHeader, signalRow } from '@tallybay/decode';
import type { AsideFacts, LogFacts, Overlap, recordingFacts, TraceRows } from '@tallybay/lake';
import { HEAT_SIGNALS } from '@tallybay/risk';
import { isoOf } from '../vehicles/vehicle-report.js';

/** Shown until somebody chooses: what is hot, and what was asked of the engine meanwhile. */
const SUGGESTED = [...HEAT_SIGNALS, 'engine_load_pct', 'vehicle_speed_kmh', 'engine_speed_rpm'] as const;
const SUGGESTED_MOST = 4;
const SIGNIFICANT_DIGITS = 7;

export const isoOrNull = (ms: number | null): string | null => (ms === null ? null : isoOf(ms));

/** Label and unit of a signal; what an older catalogue knew under another name keeps its id. */
export const nameOf = (signal: string): { label: string; unit: string } =>
  isSignalId(signal) ? signalRow(signal) : { label: signal, unit: '' };

export function glanceFrom(upload: Upload, facts: LogFacts | undefined): RecordingList['recordings'][number] {
  return {
    ...{ upload: upload.id, fileName: upload.fileName, recorder: upload.recorder, state: upload.state },
    ...{ from: upload.firstTime, to: upload.lastTime, receivedAt: upload.receivedAt, counts: upload.counts },
    ...{ drives: facts?.drives ?? 0, gaps: facts?.gaps ?? 0, longestGapSeconds: facts?.longest_gap_seconds ?? 0 },
    ...{ backwardSteps: facts?.backward_steps ?? 0, signals: facts?.signals ?? [] },
    ...{ unmapped: upload.unmapped.length, problem: upload.problem },
  };
}

type Facts = Awaited<ReturnType<typeof recordingFacts>>;

export function signalsFrom(
  facts: Facts,
  aside: readonly AsideFacts[] = [],
): Pick<Recording, 'signals' | 'suggested' | 'texts'> {
  const known = facts.figures.map((row) => {
    const { label, unit } = nameOf(row.signal);
    return {
      ...{ signal: row.signal, label, unit, channel: row.channel, sourceUnit: row.source_unit },
      ...{ valid: row.valid, blank: row.blank, leftOut: row.left_out, stuckSeconds: row.stuck_seconds ?? 0 },
      ...{ min: row.min, minAt: isoOrNull(row.min_at), max: row.max, maxAt: isoOrNull(row.max_at) },
    };
  });
  const signals: Recording['signals'] = [...known, ...aside.filter(holdsNumbers).map(asideSignal)];
  const first = known.some(({ valid }) => valid > 0) ? known : signals;
  const withValues = new Set(first.filter(({ valid }) => valid > 0).map(({ signal }) => signal));
  const usual: string[] = SUGGESTED.filter((signal) => withValues.has(signal));
  const others = [...withValues].filter((signal) => !usual.includes(signal));
  const texts = aside
    .filter((row) => !holdsNumbers(row) && row.words > 0)
    .map(({ channel, words, example }) => ({ channel, cells: words, example }));
  return { signals, texts, suggested: [...usual, ...others].slice(0, SUGGESTED_MOST) };
}

/** Numbers with an odd word among them (`n/a`, `---`) are still numbers to plot; words with an odd number are not. */
const holdsNumbers = ({ numbers, words }: AsideFacts): boolean => numbers > 0 && numbers >= words;

/** A channel that the catalogue does not know, under its header; nothing is known of its range, so nothing is doubted. */
function asideSignal(row: AsideFacts): Recording['signals'][number] {
  const sourceUnit = readHeader(row.channel)[0]?.unit ?? null;
  return {
    ...{ signal: asideId(row.channel), label: row.channel, unit: sourceUnit ?? '', channel: row.channel, sourceUnit },
    ...{ valid: row.numbers, blank: row.blank, leftOut: row.words, stuckSeconds: 0, aside: true },
    ...{ min: digits(row.min), minAt: isoOrNull(row.min_at), max: digits(row.max), maxAt: isoOrNull(row.max_at) },
  };
}

/** Decimal mark that the log was read with. */
export const decimalOf = ({ decisions }: Upload): '.' | ',' =>
  decisions.some(({ what, value }) => what === 'decimal mark' && value === 'comma') ? ',' : '.';

export function markersFrom(facts: Facts, notes: NoteList['notes']): Recording['markers'] {
  const recorded = facts.markers.map(({ at_ms, text }) => ({
    ...{ id: null, at: isoOf(at_ms), text: text ?? '', by: null, writtenAt: null },
  }));
  const added = notes.map(({ id, at, text, by, writtenAt }) => ({ id, at: at ?? writtenAt, text, by, writtenAt }));
  return [...recorded, ...added].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
}

export function overlapFrom(overlap: Overlap): OverlapReport {
  const { uploadId, otherUploadId, counted, seconds } = overlap;
  const minutes = seconds < 90 ? `${Math.round(seconds)} s` : `${Math.round(seconds / 60)} min`;
  const where = counted === 'here' ? 'here, not there' : 'there, not here';
  return {
    ...{ upload: uploadId, other: otherUploadId, from: isoOf(overlap.fromMs), to: isoOf(overlap.toMs), seconds },
    countedFrom: counted === 'here' ? 'upload' : 'other',
    text: `Overlaps upload ${otherUploadId} by ${minutes}: that time is counted ${where}.`,
  };
}

/** The answer's columns: instants after `fromMs`, figures with as many digits as the lake's single precision has. */
export function traceFrom(
  upload: string,
  ask: { fromMs: number; toMs: number; signals: readonly string[]; holdMs: number },
  rows: TraceRows,
): Trace {
  const after = (ms: number) => Math.round((ms - ask.fromMs) * 1000) / 1000;
  return {
    ...{ upload, from: isoOf(ask.fromMs), to: isoOf(ask.toMs), full: rows.full, stepMs: rows.stepMs },
    ...{
      holdMs: ask.holdMs,
      at: Array.from(rows.atMs, after),
      until: rows.full ? [] : Array.from(rows.untilMs, after),
    },
    signals: ask.signals.map((signal, index) => {
      if (rows.full) return { signal, values: Array.from(rows.values[index]!, digits) };
      const { first, min, max, last } = rows.columns[index]!;
      const [a, b, c, d] = [first, min, max, last].map((figures) => Array.from(figures, digits));
      return { signal, first: a!, min: b!, max: c!, last: d! };
    }),
  };
}

const digits = (value: number | null): number | null =>
  value === null || Number.isNaN(value) ? null : Number(value.toPrecision(SIGNIFICANT_DIGITS));
