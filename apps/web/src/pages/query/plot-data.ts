import type { AnswerSoFar, Cell } from './answer-reader.js';

export type PlotKind = 'none' | 'line' | 'bar' | 'histogram' | 'scatter';

export interface PlotChoice {
  kind: PlotKind;
  x: string;
  y: string;
}

/** More points than a screen has columns, several times over; beyond that only time is lost. */
export const MOST_POINTS = 20_000;
const MOST_BARS = 400;
const BINS = 40;
const NUMBERS = new Set(['int32', 'int64', 'float', 'double']);
const TIMES = new Set(['timestamp', 'local_timestamp', 'date']);

export const numberColumns = (answer: AnswerSoFar): string[] =>
  answer.columns.filter(({ type }) => NUMBERS.has(type)).map(({ name }) => name);

/** What is drawn: `labels` instead of numbers across where the column is of texts. */
export interface Drawing {
  x: number[];
  y: (number | null)[];
  /** Seconds since 1970 across. */
  isTime: boolean;
  labels: string[] | null;
  shown: number;
}

/** Points of a choice; null when there is nothing to draw. */
export function drawingOf(answer: AnswerSoFar, choice: PlotChoice): Drawing | null {
  if (choice.kind === 'none' || answer.rows.length === 0) return null;
  return choice.kind === 'histogram' ? histogram(answer, choice.x) : points(answer, choice);
}

function points(answer: AnswerSoFar, { kind, x, y }: PlotChoice): Drawing | null {
  const xAt = answer.columns.findIndex(({ name }) => name === x);
  const yAt = answer.columns.findIndex(({ name }) => name === y);
  if (xAt < 0 || yAt < 0) return null;
  const type = answer.columns[xAt]!.type;
  const rows = evenly(answer.rows, kind === 'bar' ? MOST_BARS : MOST_POINTS);
  const isText = kind === 'bar' ? !TIMES.has(type) && !NUMBERS.has(type) : !NUMBERS.has(type) && !TIMES.has(type);
  const placed = rows.map((row, index) => ({
    x: isText ? index : numberOf(row[xAt] ?? null, type),
    y: numberOf(row[yAt] ?? null, 'double'),
  }));
  const kept = placed.filter((point) => point.x !== null);
  // uPlot wants what is across in rising order.
  if (!isText) kept.sort((a, b) => a.x! - b.x!);
  return {
    x: kept.map((point) => point.x!),
    y: kept.map((point) => point.y),
    isTime: TIMES.has(type),
    labels: isText ? rows.map((row) => String(row[xAt] ?? '-')) : null,
    shown: rows.length,
  };
}

function histogram(answer: AnswerSoFar, name: string): Drawing | null {
  const at = answer.columns.findIndex((column) => column.name === name);
  if (at < 0) return null;
  const values = answer.rows.flatMap((row) => numberOf(row[at] ?? null, answer.columns[at]!.type) ?? []);
  if (values.length === 0) return null;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value < low) low = value;
    if (value > high) high = value;
  }
  const width = (high - low || 1) / BINS;
  const counts = new Array<number>(BINS).fill(0);
  for (const value of values) counts[Math.min(BINS - 1, Math.floor((value - low) / width))]!++;
  return {
    x: counts.map((_, index) => low + (index + 0.5) * width),
    ...{ y: counts, isTime: false, labels: null, shown: values.length },
  };
}

function evenly<T>(rows: readonly T[], most: number): T[] {
  if (rows.length <= most) return [...rows];
  return Array.from({ length: most }, (_, index) => rows[Math.floor((index * rows.length) / most)]!);
}

function numberOf(cell: Cell, type: string): number | null {
  if (cell === null || typeof cell === 'boolean') return null;
  const value = TIMES.has(type)
    ? Date.parse(type === 'local_timestamp' ? `${cell}Z` : String(cell)) / 1000
    : Number(cell);
  return Number.isFinite(value) ? value : null;
}
