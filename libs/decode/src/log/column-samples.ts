import { pointGroups, unitBehind } from '../csv/number-marks.js';
import { bareUnit, type TableFound } from '../csv/table.js';
import { readWritten } from '../csv/written-numbers.js';
import type { ColumnSample } from '../signals/map-channels.js';

/** A column of the head: what mapping looks at, and how its numbers are written. */
export interface HeadColumn extends ColumnSample {
  /** Why points group thousands in this column; null = they do not. */
  pointGroups: string | null;
}

/** The columns of a table's head. A unit behind the numbers stands in for one in a unit row. */
export function headColumns(headers: readonly string[], table: TableFound, decimal: '.' | ','): HeadColumn[] {
  return headers.map((header, index) => {
    const cells = table.samples.map((row) => (row.cells[index] ?? '').trim()).filter((cell) => cell !== '');
    const groups = decimal === ',' ? pointGroups(cells) : null;
    const marks = { comma: decimal === ',', groupedByPoint: groups !== null };
    const numbers = cells.map((cell) => readWritten(cell, marks)).filter((number) => number !== null);
    const inUnitRow = table.units ? bareUnit(table.units.cells[index] ?? '') || null : null;
    const unitRowCell = inUnitRow ?? unitBehind(numbers);
    return { header, unitRowCell, range: rangeOf(numbers.map(({ value }) => value)), pointGroups: groups };
  });
}

/** 10th and 90th percentile. */
function rangeOf(values: readonly number[]): ColumnSample['range'] {
  const sorted = values.toSorted((a, b) => a - b);
  const min = sorted[Math.floor((sorted.length - 1) * 0.1)];
  const max = sorted[Math.ceil((sorted.length - 1) * 0.9)];
  return min === undefined || max === undefined ? null : { min, max };
}
