import type { SignalId } from '../signals/catalogue.js';
import { signalRow } from '../signals/catalogue.js';
import { unitMatters } from '../signals/match.js';
import { AHEAD_MS, ROW_REJECTS, type RowReject } from './rejects.js';
import { localText } from './start-hints.js';
import { timeNeed } from './time-need.js';
import type { LogPlan, LogSummary, ReadCounts, SignalStats } from './types.js';

export interface InspectedSignal {
  header: string;
  sourceUnit: string | null;
  confidence: number;
  valid: number;
  blank: number;
  min: number | null;
  max: number | null;
  secondsAtOrAbove?: Record<string, number | null>;
  rejected?: Record<string, number>;
}

export interface InspectProblem {
  code: string;
  text: string;
  count: number;
  firstRow: number | null;
}

/** What one log holds, for a person or a program; values in canonical units. */
export interface Inspection {
  file: string;
  format: string;
  rows: number;
  rowsRejectedBy: Record<string, number>;
  time: {
    first: string | null;
    last: string | null;
    zone: string | null;
    gaps: number;
    longestGapSeconds: number;
    backwardSteps: number;
    duplicateTimes: number;
    countedSeconds: number;
  };
  signals: Record<string, InspectedSignal>;
  noData: string[];
  unmapped: string[];
  decisions: LogPlan['decisions'];
  problems: InspectProblem[];
}

export interface InspectInput {
  plan: LogPlan;
  summary: LogSummary;
  counts: ReadCounts;
  /** The stages that were asked of the accumulator. */
  stages?: Partial<Record<SignalId, string[]>>;
}

/** The report of one log. A stage asked for a signal without a valid value is `no data`, never zero seconds. */
export function inspectReport(file: string, { plan, summary, counts, stages = {} }: InspectInput): Inspection {
  const asked = Object.keys(stages) as SignalId[];
  const withData = new Set(summary.signals.filter(({ valid }) => valid > 0).map(({ signal }) => signal));
  return {
    ...{ file, format: plan.format, rows: summary.rows, rowsRejectedBy: summary.rowsRejectedBy },
    time: {
      first: instantText(plan, summary.firstMs),
      last: instantText(plan, summary.lastMs),
      zone: plan.time.kind === 'absolute' ? 'UTC' : plan.time.timeZone,
      gaps: summary.gaps,
      longestGapSeconds: summary.longestGapSeconds,
      backwardSteps: summary.backwardSteps,
      duplicateTimes: summary.duplicateTimes,
      countedSeconds: summary.countedSeconds,
    },
    signals: Object.fromEntries(summary.signals.map((stats) => [stats.signal, inspected(stats, stages[stats.signal])])),
    noData: asked.filter((signal) => !withData.has(signal)),
    unmapped: plan.channels.filter(({ role }) => role === 'unmapped').map(({ header }) => header),
    decisions: plan.decisions,
    problems: [
      ...timeProblems(plan),
      ...mappingProblems(plan),
      ...rowProblems(plan, counts, summary),
      ...signalProblems(summary),
      ...unitProblems(plan, summary),
    ],
  };
}

function inspected(stats: SignalStats, asked: string[] | undefined): InspectedSignal {
  const { header, sourceUnit, confidence, valid, blank, min, max, rejected } = stats;
  const at = (stage: string) => (valid > 0 ? (stats.secondsAtOrAbove[stage] ?? null) : null);
  return {
    ...{ header, sourceUnit, confidence, valid, blank, min, max },
    ...(asked ? { secondsAtOrAbove: Object.fromEntries(asked.map((stage) => [stage, at(stage)])) } : {}),
    ...(Object.keys(rejected).length > 0 ? { rejected } : {}),
  };
}

/**
 * UTC with `Z` where instants are known; wall time without a zone where only that is; a clock without a date as
 * `HH:MM:SS.mmm`; elapsed time without a start as an ISO 8601 duration.
 */
export function instantText(plan: LogPlan, ms: number | null): string | null {
  if (ms === null) return null;
  if (timeNeed(plan) === null) return `${localText(ms)}Z`;
  if (plan.time.kind === 'elapsed') return `PT${ms / 1000}S`;
  if (plan.time.kind === 'clock' && plan.time.startDate === null) return localText(ms).slice(11);
  return localText(ms);
}

const NEEDS = {
  time_missing: 'The log does not say when it was recorded; give the time of recording with the upload.',
  zone_missing: "The log's clock has no time zone; give one with the upload or in a profile.",
} as const;

function timeProblems(plan: LogPlan): InspectProblem[] {
  const need = timeNeed(plan);
  if (need === 'time_missing' && plan.time.format === 'dmy-or-mdy') {
    const text =
      'The dates read as days of different months; state the order of day, month and year in a profile, or give the time of recording with the upload.';
    return [{ code: 'date_ambiguous', text, count: 1, firstRow: null }];
  }
  return need === null ? [] : [{ code: need, text: NEEDS[need], count: 1, firstRow: null }];
}

/** A log of which nothing is understood, as one whose rows each hold a name and a value. */
function mappingProblems(plan: LogPlan): InspectProblem[] {
  if (plan.signals.length > 0) return [];
  const columns = plan.channels.filter(({ role }) => role === 'unmapped').length;
  const text = `None of the ${columns} columns beside the time is a signal of the catalogue, so nothing is counted. Each signal needs a column of its own; map its header in a profile.`;
  return [{ code: 'no_signals', text, count: columns, firstRow: null }];
}

function rowProblems(plan: LogPlan, counts: ReadCounts, summary: LogSummary): InspectProblem[] {
  const rejected = Object.entries(counts.rowsRejectedBy).map(([code, count]) => ({
    code,
    text: rowText(plan, code as RowReject, count),
    count,
    firstRow: counts.firstRows[code]?.[0] ?? null,
  }));
  const { unanchoredRestarts } = counts;
  const falls = plan.time.kind === 'elapsed' ? summary.backwardSteps : 0;
  const count = Math.max(unanchoredRestarts, falls);
  const text =
    unanchoredRestarts > 0
      ? 'The elapsed time starts anew behind a repeated header that does not say when; durations count, times overlap.'
      : `The elapsed time falls back ${count} ${count === 1 ? 'time' : 'times'} without saying when it starts anew; durations count, times overlap. Send each recording as a log of its own.`;
  return count === 0 ? rejected : [...rejected, { code: 'clock_restarted', text, count, firstRow: null }];
}

function rowText(plan: LogPlan, code: RowReject, count: number): string {
  const subject = count === 1 ? '1 row was left out: it' : `${count} rows were left out: each`;
  const isHalf = code === 'time_unreadable' && plan.time.format.endsWith('-12h');
  const hint = isHalf
    ? ' (where the log writes AM and PM, a clock from 1 to 12 needs its own)'
    : code === 'time_implausible'
      ? ` (limit ${AHEAD_MS / 3_600_000} h)`
      : '';
  return `${subject} ${ROW_REJECTS[code] ?? code}${hint}.`;
}

const VALUE_TEXTS: Readonly<Record<string, string>> = {
  unreadable: 'cells are no number',
  out_of_range: 'values are outside the plausible range',
  jump: 'values jumped faster than the quantity can change',
  stuck: 'values stood still while the engine worked',
};

function signalProblems(summary: LogSummary): InspectProblem[] {
  return summary.signals.flatMap(({ signal, header, rejected }) =>
    Object.entries(rejected).map(([reason, count]) => {
      const { min, max, unit } = signalRow(signal);
      const limit = reason === 'out_of_range' ? ` (${min} to ${max} ${unit})` : '';
      const text = `"${header}" (${signal}): ${count} ${VALUE_TEXTS[reason] ?? reason}${limit}; left out of durations.`;
      return { code: reason, text, count, firstRow: null };
    }),
  );
}

/** Channels whose unit had to be assumed or could not be, with what the values say about it. */
function unitProblems(plan: LogPlan, summary: LogSummary): InspectProblem[] {
  const assumed = summary.signals.flatMap(({ signal, header, sourceUnit, max, confidence }) => {
    const { unit, usualMax, quantity } = signalRow(signal);
    const isDoubtful =
      sourceUnit === null && confidence < 1 && unitMatters(quantity) && usualMax !== null && (max ?? 0) > usualMax;
    if (!isDoubtful) return [];
    const text = `"${header}" states no unit; read as ${unit}, but ${max} is above the usual ${usualMax} ${unit}. State the unit in a profile.`;
    return [{ code: 'unit_doubtful', text, count: 1, firstRow: null }];
  });
  const absolute = summary.signals.flatMap(({ signal, header, min }) => {
    const { usualLow, unit } = signalRow(signal);
    if (usualLow === null || min === null || min <= usualLow) return [];
    const text = `"${header}" is read as ${signal}, which is gauge, but never falls below ${min} ${unit}: it may be absolute. Map it in a profile.`;
    return [{ code: 'reference_doubtful', text, count: 1, firstRow: null }];
  });
  const refused = plan.channels.filter(
    ({ role, why }) =>
      role === 'unmapped' &&
      /states no unit|only with a unit|is no unit of|is not known|says (?:absolute|gauge)/.test(why),
  );
  return [
    ...assumed,
    ...absolute,
    ...refused.map(({ header, why }) => ({
      code: 'channel_not_mapped',
      text: `"${header}": ${why}.`,
      count: 1,
      firstRow: null,
    })),
  ];
}
