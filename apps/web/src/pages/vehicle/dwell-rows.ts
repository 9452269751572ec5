import type { SignalWeeks } from './week-facts.js';

export type StageName = SignalWeeks['stages'][number]['stage'];

/** One row of the picture: values in [from, to) of the shown unit; null = open to that side. */
export interface DwellRow {
  from: number | null;
  to: number | null;
  /** The stage that begins with the row; null below every stage. */
  stage: StageName | null;
  /** Week by week. */
  seconds: number[];
}

/** The shown unit, and how a recorded value reads in it. */
export interface ShownUnit {
  unit: string;
  convert: (value: number) => number;
}

/** Rows below the lowest stage. */
const ROWS_BELOW = 5;
/** An exhaust gas has its limits far above a coolant's: its steps are wider. */
const HOT_FROM = 300;
const STEPS = { degC: { usual: 10, hot: 100 }, degF: { usual: 20, hot: 200 } } as const;
/** Edges are conversions: two ways of computing one differ by less than this. */
const EDGE_TOLERANCE = 1e-6;

/**
 * Time in value bins, joined to rows that a person can read, hottest first: one row from each stage to the next, steps of
 * ten degrees (twenty in °F) below the lowest one, and one row for everything cooler. Edges of stages and of those steps are
 * edges of the recorded bins, so nothing is shared out.
 */
export function dwellRows(
  signal: Pick<SignalWeeks, 'bins' | 'stages'>,
  shown: ShownUnit,
  firstWeek: number,
): DwellRow[] {
  const bins = signal.bins.map(({ low, seconds }) => ({
    low: shown.convert(low),
    seconds: seconds.slice(firstWeek),
  }));
  const edges = edgesOf(
    signal,
    shown,
    bins.filter(({ seconds }) => seconds.some((value) => value > 0)).map(({ low }) => low),
  );
  const weeks = signal.bins[0]?.seconds.slice(firstWeek).length ?? 0;
  const rows: DwellRow[] = [
    { from: null, to: edges[0]?.at ?? null, stage: null, seconds: new Array<number>(weeks).fill(0) },
  ];
  edges.forEach(({ at, stage }, index) => {
    rows.push({ from: at, to: edges[index + 1]?.at ?? null, stage, seconds: new Array<number>(weeks).fill(0) });
  });
  for (const bin of bins) {
    const row = rows.findLast(({ from }) => from === null || bin.low >= from - EDGE_TOLERANCE)!;
    bin.seconds.forEach((value, week) => {
      row.seconds[week]! += value;
    });
  }
  return rows.reverse();
}

function edgesOf(
  signal: Pick<SignalWeeks, 'stages'>,
  shown: ShownUnit,
  reached: readonly number[],
): { at: number; stage: StageName | null }[] {
  const stages = signal.stages.map(({ stage, value }) => ({ at: shown.convert(value), stage }));
  const top = stages[0]?.at ?? Math.max(0, ...reached) + EDGE_TOLERANCE;
  const steps = shown.unit === 'degF' ? STEPS.degF : STEPS.degC;
  const step = (signal.stages[0]?.value ?? 0) > HOT_FROM ? steps.hot : steps.usual;
  const highest = Math.ceil(top / step) * step - step;
  const below = Array.from({ length: ROWS_BELOW }, (_row, index) => highest - (ROWS_BELOW - 1 - index) * step);
  return [...below.map((at) => ({ at, stage: null })), ...stages];
}

/** Shade of a cell, 0 to 4: the steps that the legend names. */
export function shadeOf(seconds: number): 0 | 1 | 2 | 3 | 4 {
  if (seconds <= 0) return 0;
  if (seconds < 60) return 1;
  if (seconds < 600) return 2;
  return seconds < 3600 ? 3 : 4;
}
