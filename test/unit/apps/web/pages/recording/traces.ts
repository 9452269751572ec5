import type { Trace } from '@tallybay/contracts';

export const START_MS = Date.UTC(2026, 8, 7, 14);
export const STEP_MS = 100;
export const timeOf = (row: number): number => START_MS + row * STEP_MS;

/** A trace as the server makes it of rows ten a second: row by row where they are few, else columns of equal width. */
export function traceOf(
  values: readonly (number | null)[],
  span: { fromMs: number; toMs: number },
  points: number,
): Trace {
  const rows = values.flatMap((value, row) => {
    const ms = timeOf(row);
    return ms >= span.fromMs && ms <= span.toMs ? [{ ms, value }] : [];
  });
  const stepMs = (span.toMs - span.fromMs) / points;
  const common = { upload: 'u', from: new Date(span.fromMs).toISOString(), to: new Date(span.toMs).toISOString() };
  if (rows.length <= points * 2) {
    const at = rows.map(({ ms }) => ms - span.fromMs);
    const own = { signal: 's', values: rows.map(({ value }) => value) };
    return { ...common, full: true, stepMs: 0, holdMs: 5000, at, until: [], signals: [own] };
  }
  const columns = [...Map.groupBy(rows, ({ ms }) => Math.floor((ms - span.fromMs) / stepMs)).values()];
  const figures = columns.map((column) => column.flatMap(({ value }) => (value === null ? [] : [value])));
  const of = (pick: (all: number[]) => number) => figures.map((all) => (all.length === 0 ? null : pick(all)));
  return {
    ...{ ...common, full: false, stepMs, holdMs: 5000 },
    at: columns.map((column) => column[0]!.ms - span.fromMs),
    until: columns.map((column) => column.at(-1)!.ms - span.fromMs),
    signals: [
      {
        signal: 's',
        first: of((all) => all[0]!),
        min: of((all) => Math.min(...all)),
        max: of((all) => Math.max(...all)),
        last: of((all) => all.at(-1)!),
      },
    ],
  };
}
