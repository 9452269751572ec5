import { cellUnit, pointGroups } from '../csv/number-marks.js';
import { bareUnit, type TableFound } from '../csv/table.js';
import { type NumberMarks, readWritten } from '../csv/written-numbers.js';
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
    const marks: NumberMarks = { comma: decimal === ',', groupedByPoint: groups !== null };
    const inUnitRow = table.units ? bareUnit(table.units.cells[index] ?? '') || null : null;
    const unitRowCell = inUnitRow ?? cellUnit(cells, marks);
    return { header, unitRowCell, range: rangeOf(cells, marks), pointGroups: groups };
  });
}

/** 10th and 90th percentile of the numbers. */
function rangeOf(cells: readonly string[], marks: NumberMarks): ColumnSample['range'] {
  const values = cells.flatMap((cell) => readWritten(cell, marks)?.value ?? []);
  values.sort((a, b) => a - b);
  const min = values[Math.floor((values.length - 1) * 0.1)];
  const max = values[Math.ceil((values.length - 1) * 0.9)];
  return min === undefined || max === undefined ? null : { min, max };
}
