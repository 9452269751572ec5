import type { CsvDialect } from '../log/types.js';
import { findUnit } from '../units/convert.js';
import { splitRows, type TextRow } from './cells.js';
import { CSV_LIMITS } from './limits.js';

type Delimiter = CsvDialect['delimiter'];

/** Where the table stands in the head, for one delimiter. */
export interface TableFound {
  delimiter: Delimiter;
  preamble: TextRow[];
  header: TextRow;
  units: TextRow | null;
  /** Other rows between the header and the first row of values: short names, sources, types. */
  headings: TextRow[];
  rows: TextRow[];
  /** Records under the header that have its shape and are not the header again: what detection looks at. */
  samples: TextRow[];
  /** How well the rows agree with the header, 0..1 times the columns that hold values. */
  score: number;
  why: string;
}

const DELIMITERS: readonly Delimiter[] = [';', '\t', '|', ','];
const NUMERIC = /^\s*[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?\s*$/i;
const STARTS_LIKE_TIME = /^\s*\d{1,4}[-./:]\d{1,2}[-./:]/;

/** A cell of data rather than a name: a number or the beginning of a date or clock. */
export function isValueCell(cell: string): boolean {
  return NUMERIC.test(cell) || STARTS_LIKE_TIME.test(cell) || /^\s*\d{1,2}:\d{2}/.test(cell);
}

/**
 * Finds the delimiter, the header and a row of units. The header is the first record of at least two names under which
 * records of as many cells follow; what stands before it is the preamble. Of two lines of names the second counts, as
 * the first may name groups, unless more of the first are `isKnown`.
 */
export function findTable(
  text: string,
  wanted: Delimiter | undefined,
  dropLast: boolean,
  isKnown: (name: string) => boolean = () => false,
): TableFound | null {
  const tries = (wanted ? [wanted] : DELIMITERS)
    .map((delimiter) => tryDelimiter({ text, delimiter, dropLast, isKnown }))
    .filter((found): found is TableFound => found !== null)
    .sort((a, b) => b.score - a.score);
  return tries[0] ?? null;
}

interface Try {
  text: string;
  delimiter: Delimiter;
  dropLast: boolean;
  isKnown: (name: string) => boolean;
}

function tryDelimiter({ text, delimiter, dropLast, isKnown }: Try): TableFound | null {
  if (!text.includes(delimiter)) return null;
  const maxRows = CSV_LIMITS.maxPreambleLines + CSV_LIMITS.maxSampleRows;
  const records = splitRows(text, delimiter, { dropLast, maxRows });
  const at = headerIndex(records, isKnown);
  if (at < 0) return null;
  const header = records[at] as TextRow;
  const width = columnCount(header);
  const below = records.slice(at + 1).filter((record) => !isBlankRow(record));
  const { units, headings, rows } = splitHeadings(below, width);
  const repeated = new Set([header, ...headings, ...(units ? [units] : [])].map((row) => row.text));
  const samples = rows.filter((row) => fits(row, width) && !repeated.has(row.text));
  const agreeing = samples.length;
  const values = samples.flatMap((row) => row.cells).filter((cell) => cell.trim() !== '');
  const readable = values.filter(isValueCell).length / Math.max(values.length, 1);
  const share = rows.length === 0 ? 0.5 : agreeing / rows.length;
  const score = rows.length === 0 ? share * width : share * (0.5 + readable) * Math.sqrt(width);
  const why = `${width} columns in the header, ${agreeing} of ${rows.length} rows in the head agree`;
  return { delimiter, preamble: records.slice(0, at), header, units, headings, rows, samples, score, why };
}

/** Lines under the header that may be headings as well. */
const MAX_HEADINGS = 3;

/** Rows without any value under the header, where rows of values follow; one of them may be the units. */
function splitHeadings(below: readonly TextRow[], width: number): Pick<TableFound, 'units' | 'headings' | 'rows'> {
  const first = below.findIndex((row) => row.cells.some(isValueCell) && !isUnitRow(row, width));
  const count =
    first < 0 || first > MAX_HEADINGS ? Number(below[0] !== undefined && isUnitRow(below[0], width)) : first;
  const block = below.slice(0, count).filter((row) => fits(row, width));
  const units = block.find((row) => isUnitRow(row, width)) ?? null;
  return { units, headings: block.filter((row) => row !== units), rows: below.slice(count) };
}

function headerIndex(records: readonly TextRow[], isKnown: Try['isKnown']): number {
  let fallback = -1;
  for (const [index, record] of records.entries()) {
    if (!isHeaderLike(record)) continue;
    const width = columnCount(record);
    const below = records
      .slice(index + 1)
      .filter((row) => !isBlankRow(row))
      .slice(0, 8);
    const data = below.filter((row) => fits(row, width) && row.cells.some(isValueCell));
    // Half, because a recorder may restart or cut rows right away; two columns also occur in a preamble of pairs.
    const enough = below.length > 0 && data.length * 2 >= below.length;
    if (enough && !isNamedAgain(records[index + 1], record, isKnown)) return index;
    if (fallback < 0 || width > columnCount(records[fallback] as TextRow)) {
      if (below.every((row) => fits(row, width) || isUnitRow(row, width))) fallback = index;
    }
  }
  return fallback;
}

/** A line of groups over the names, or a preamble of pairs over a table of two columns: the next line is the header. */
function isNamedAgain(next: TextRow | undefined, record: TextRow, isKnown: Try['isKnown']): boolean {
  const filled = (row: TextRow) => row.cells.filter((cell) => cell.trim() !== '').length;
  if (!next || !isHeaderLike(next) || next.cells.some(isValueCell)) return false;
  const known = (row: TextRow) => row.cells.filter((cell) => isKnown(cell.trim())).length;
  return (
    filled(next) >= filled(record) &&
    known(next) >= known(record) &&
    next.text !== record.text &&
    !isUnitRow(next, columnCount(record))
  );
}

/** At least two cells, mostly names. */
function isHeaderLike(record: TextRow): boolean {
  const filled = record.cells.filter((cell) => cell.trim() !== '');
  const names = filled.filter((cell) => !isValueCell(cell));
  return filled.length >= 2 && names.length >= filled.length * 0.75;
}

/** Columns of a header; one trailing delimiter makes no column. */
export function columnCount(header: TextRow): number {
  const { cells } = header;
  return cells.length > 1 && (cells[cells.length - 1] as string).trim() === '' ? cells.length - 1 : cells.length;
}

function fits(row: TextRow, width: number): boolean {
  return row.cells.length === width || (row.cells.length === width + 1 && (row.cells[width] as string).trim() === '');
}

export function isBlankRow(row: TextRow): boolean {
  return row.cells.every((cell) => cell.trim() === '') && row.cells.length <= 1;
}

/** A row of units: no values, and most filled cells are units (a format such as hh:mm:ss stands under the time). */
export function isUnitRow(row: TextRow, width: number): boolean {
  if (!fits(row, width)) return false;
  // A bare 1 may be a ratio's unit, and a value of a first row as well: it says nothing either way.
  const filled = row.cells.map(bareUnit).filter((cell) => cell !== '' && cell !== '1');
  const units = filled.filter(
    (cell) => findUnit(cell) !== null || /^[-–—]$/.test(cell) || /^[dmyhs:./\s-]{4,}$/i.test(cell),
  );
  return (
    filled.length > 0 &&
    units.length * 2 > filled.length &&
    !row.cells.some((cell) => NUMERIC.test(cell) && cell.trim() !== '1')
  );
}

/** A unit cell without the brackets some recorders put around it. */
export function bareUnit(cell: string): string {
  return cell.trim().replace(/^[([{<]\s*(.*?)\s*[)\]}>]$/, '$1');
}
