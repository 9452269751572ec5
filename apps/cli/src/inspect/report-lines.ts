import type { InspectionReport } from '@tallybay/contracts';
import { signalRow } from '@tallybay/decode';
import { countText, durationText, plural, valueText } from '../output/numbers.js';
import { type Column, tableLines, wrapLines } from '../output/table.js';
import { captureLines } from './capture-lines.js';
import type { LogReport } from './inspect-log.js';

type Signal = InspectionReport['signals'][string];

const TEXT_WIDTH = 110;

/** What a log holds, for a person: rows and time, a table of signals, what was decided, what is wrong. */
export function reportLines(report: LogReport): string[] {
  return [
    `${report.file}: ${report.format}`,
    ...rowLines(report),
    ...timeLines(report),
    ...section('Signals', signalTable(report)),
    ...(report.capture ? captureLines(report.capture) : []),
    ...section('Signals without a single value', wrapped(emptyLines(report).join(', '))),
    ...section('No data for', wrapped(report.noData.join(', '))),
    ...section('Channels that map to no signal (kept as they are)', wrapped(report.unmapped.join(', '))),
    ...section(
      'Decided',
      report.decisions.flatMap(({ what, value, why }) => wrapped(`${what}: ${value} (${why})`)),
    ),
    ...section(
      'Problems',
      report.problems.flatMap((problem) => wrapped(`${problem.text}${problemPlace(problem)}`)),
    ),
  ];
}

function rowLines({ rows, rowsRejectedBy }: InspectionReport): string[] {
  const rejected = Object.entries(rowsRejectedBy).filter(([, count]) => count > 0);
  const sum = rejected.reduce((total, [, count]) => total + count, 0);
  const reasons = rejected.map(([reason, count]) => `${countText(count)} ${words(reason)}`).join(', ');
  return [`  rows      ${countText(rows)}${sum > 0 ? `, of which left out ${countText(sum)}: ${reasons}` : ''}`];
}

function timeLines({ time }: InspectionReport): string[] {
  if (time.first === null) return ['  time      no row has a readable time'];
  const gaps =
    time.gaps > 0 ? `${plural(time.gaps, 'gap')}, the longest ${durationText(time.longestGapSeconds)}` : 'no gaps';
  const steps = [
    time.backwardSteps > 0 ? `${plural(time.backwardSteps, 'step')} back` : '',
    time.duplicateTimes > 0 ? `${plural(time.duplicateTimes, 'row')} with the time of the row above` : '',
  ].filter(Boolean);
  return [
    `  time      ${time.first} to ${time.last}${time.zone ? ` (${time.zone})` : ''}`,
    `  counted   ${durationText(time.countedSeconds)} (${valueText(time.countedSeconds)} s); ${[gaps, ...steps].join('; ')}`,
  ];
}

/** Has something to show: a value, or values that were left out. */
const isPresent = ([, signal]: [string, Signal]): boolean =>
  signal.valid > 0 || Object.keys(signal.rejected ?? {}).length > 0;

const emptyLines = (report: InspectionReport): string[] =>
  Object.entries(report.signals)
    .filter((entry) => !isPresent(entry))
    .map(([id, signal]) => (report.format === 'candump' ? id : `${id} ("${signal.header}")`));

function signalTable(report: InspectionReport): string[] {
  const entries = Object.entries(report.signals).filter(isPresent);
  const stages = [...new Set(entries.flatMap(([, signal]) => Object.keys(signal.secondsAtOrAbove ?? {})))];
  const right = (title: string): Column => ({ title, align: 'right' });
  const columns: Column[] = [
    { title: 'signal' },
    { title: 'channel' },
    { title: 'written in' },
    right('sure'),
    right('valid'),
    right('blank'),
    right('left out'),
    right('min'),
    right('max'),
    { title: 'unit' },
    ...stages.map((stage) => right(`s at >= ${stage}`)),
  ];
  const rows = entries.map(([id, signal]) => [
    id,
    signal.header,
    signal.sourceUnit ?? '-',
    `${Math.round(100 * signal.confidence)} %`,
    countText(signal.valid),
    countText(signal.blank),
    leftOut(signal.rejected),
    valueText(signal.min),
    valueText(signal.max),
    unitOf(id),
    ...stages.map((stage) => stageText(signal.secondsAtOrAbove, stage)),
  ]);
  return rows.length > 0
    ? tableLines(columns, rows).map((line) => `  ${line}`)
    : ['  none of the channels maps to a signal'];
}

/** Missing is not zero: a stage that was asked for a signal without a valid value has no seconds. */
function stageText(seconds: Record<string, number | null> | undefined, stage: string): string {
  if (!seconds || !(stage in seconds)) return '';
  const value = seconds[stage];
  return value === null || value === undefined ? 'no data' : value.toFixed(3);
}

function leftOut(rejected: Record<string, number> | undefined): string {
  const parts = Object.entries(rejected ?? {}).filter(([, count]) => count > 0);
  return parts.map(([reason, count]) => `${countText(count)} ${words(reason)}`).join(', ');
}

function unitOf(id: string): string {
  const { unit } = signalRow(id);
  return unit === 'degC' ? '°C' : unit;
}

/** The text of a problem says how often it came; this says where. */
function problemPlace({ count, firstRow }: { count: number; firstRow: number | null }): string {
  if (firstRow === null) return '';
  return count === 1 ? ` Row ${countText(firstRow)}.` : ` First in row ${countText(firstRow)}.`;
}

const words = (reason: string): string => reason.replaceAll('_', ' ');
const wrapped = (text: string): string[] => (text ? wrapLines(`  ${text}`, TEXT_WIDTH, '      ') : []);
const section = (title: string, lines: readonly string[]): string[] => (lines.length > 0 ? ['', title, ...lines] : []);
