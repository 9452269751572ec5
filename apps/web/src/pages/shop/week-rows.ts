import { type DraftRow, textOf } from './fields.js';

/** Place of a depot's weekday among the rows, -1 = closed. */
export const indexOf = (rows: readonly DraftRow[], depot: string, weekday: string): number =>
  rows.findIndex((row) => textOf(row, 'depot') === depot && textOf(row, 'weekday') === weekday);

export const rowOf = (rows: readonly DraftRow[], depot: string, weekday: string): DraftRow | undefined =>
  rows[indexOf(rows, depot, weekday)];

/** The rows with one day set; empty times take it away. */
export function withDay(rows: readonly DraftRow[], day: DraftRow): readonly DraftRow[] {
  const at = indexOf(rows, textOf(day, 'depot'), textOf(day, 'weekday'));
  const closed = textOf(day, 'from') === '' && textOf(day, 'to') === '';
  if (closed) return at < 0 ? rows : rows.toSpliced(at, 1);
  return at < 0 ? [...rows, day] : rows.with(at, day);
}
