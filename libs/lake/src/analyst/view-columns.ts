import { SIGNALS, type StandardRef } from '@tallybay/decode';
import type { ColumnRow, ColumnType } from '../tables.js';

/** A column as analysts see it. */
export interface ViewColumn {
  name: string;
  type: ColumnType;
  /** What one value is. */
  meaning: string;
  /** Unit of the values; null for names, flags, counts and shares. Instants are in UTC. */
  unit: string | null;
  /** Where the value comes from. */
  source: string;
}

const UNIT_IN_COMMENT = / \[([^\]]+)\]/;
/** Names that end so carry this unit; the longest ending wins. */
const UNIT_OF_ENDING: readonly (readonly [ending: string, unit: string])[] = [
  ['seconds', 's'],
  ['_km', 'km'],
  ['_l', 'L'],
  ['_hours', 'h'],
  ['minutes_since_clear', 'min'],
  ['minutes_with_lamp', 'min'],
];
/** Columns whose unit is that of the row's signal. */
const OF_THE_SIGNAL = new Set(['low', 'high', 'min', 'max', 'first', 'last', 'mean']);

const SIGNAL = new Map<string, (typeof SIGNALS)[number]>(SIGNALS.map((signal) => [signal.id, signal]));

/** Columns of a stored table, described from its rows and the signal catalogue. */
export const describedColumns = (columns: readonly ColumnRow[], source: string): ViewColumn[] =>
  columns.map((column) => describedColumn(column, source));

function describedColumn({ name, type, comment }: ColumnRow, source: string): ViewColumn {
  const signal = SIGNAL.get(name);
  if (signal && type === 'float')
    return { name, type, meaning: signal.label, unit: signal.unit, source: signalSource(signal.refs) };
  return { name, type, meaning: comment.replace(UNIT_IN_COMMENT, ''), unit: unitOf(name, type, comment), source };
}

function signalSource(refs: readonly StandardRef[]): string {
  const standards = refs.map(({ standard, id }) => `${standard} ${standard === 'SAE J1979' ? 'PID' : 'SPN'} ${id}`);
  return ["the recorder's channel, converted", ...standards].join('; ');
}

function unitOf(name: string, type: ColumnType, comment: string): string | null {
  const said = UNIT_IN_COMMENT.exec(comment)?.[1];
  if (said) return said;
  if (type === 'timestamp') return 'UTC';
  if (type !== 'double') return null;
  if (name === 'value_seconds') return "signal's unit times s";
  if (OF_THE_SIGNAL.has(name)) return "signal's unit";
  return UNIT_OF_ENDING.find(([ending]) => name.endsWith(ending))?.[1] ?? null;
}

/** The text of `COMMENT ON COLUMN`: meaning, unit, source. */
export const columnComment = ({ meaning, unit, source }: ViewColumn): string =>
  `${meaning}${unit === null ? '' : ` [${unit}]`}; from ${source}`;
