import { STAGES, type StageName } from '../../kit/stage.js';
import { inUnit } from '../../prefs/units.js';

/** One row of the setting `heat-stages`. */
export interface StageRow {
  signal: string;
  vehicleClass: string;
  fuel?: 'gas' | 'diesel' | 'other';
  stage: StageName;
  valueC: number;
  written: string;
  source: string;
}

export const EVERY_CLASS = '*';

/** What is edited together: one signal, one class (`*` = every class without rows of its own), one fuel. */
export interface Group {
  signal: string;
  vehicleClass: string;
}

export const rowsOf = (rows: readonly StageRow[], group: Group): StageRow[] =>
  rows
    .filter((row) => row.signal === group.signal && row.vehicleClass === group.vehicleClass)
    .toSorted((left, right) => STAGES.indexOf(left.stage) - STAGES.indexOf(right.stage));

/** Classes that have limits of their own for a signal, `*` first. */
export const classesOf = (rows: readonly StageRow[], signal: string): string[] =>
  [...new Set(rows.filter((row) => row.signal === signal).map((row) => row.vehicleClass))].toSorted();

/** A stage's limit as typed, in the unit that it was typed in; '' takes the stage away. */
export function withLimit(
  rows: readonly StageRow[],
  group: Group,
  change: { stage: StageName; text: string; unit: string; source: string },
): StageRow[] {
  const { stage, text, unit, source } = change;
  const isIt = (row: StageRow) =>
    row.signal === group.signal && row.vehicleClass === group.vehicleClass && row.stage === stage;
  const known = rows.find(isIt);
  const others = rows.filter((row) => !isIt(row));
  const value = Number(text.replace(',', '.'));
  if (text.trim() === '' || Number.isNaN(value)) return others;
  const valueC = Math.round(inUnit(value, unit, 'degC') * 10_000) / 10_000;
  const written = `${value} ${unit === 'degF' ? '°F' : '°C'}`;
  return [...others, { ...(known ?? { ...group, stage }), valueC, written, source }];
}

/** A class of its own starts from what held for it so far. */
export const withOwnClass = (rows: readonly StageRow[], signal: string, vehicleClass: string): StageRow[] => [
  ...rows,
  ...rowsOf(rows, { signal, vehicleClass: EVERY_CLASS }).map((row) => ({ ...row, vehicleClass })),
];

export const withoutClass = (rows: readonly StageRow[], group: Group): StageRow[] =>
  rows.filter((row) => row.signal !== group.signal || row.vehicleClass !== group.vehicleClass);

/** A stage below a lower one could never be the highest reached. */
export function outOfOrder(rows: readonly StageRow[], group: Group): boolean {
  const values = rowsOf(rows, group).map((row) => row.valueC);
  return values.some((value, index) => index > 0 && value <= (values[index - 1] ?? value));
}
