import { findUnit } from '../units/convert.js';
import type { TextRow } from './cells.js';
import type { WrittenNumber } from './written-numbers.js';

const BODY = /^\s*[+\u2212-]?([\d.,'’ \u00a0\u2009\u202f]*\d[.,]?)\s*(\D{0,12})$/;
const COMMA_GROUPS = /^[1-9]\d{0,2}(?:,\d{3})+$/;
const POINT_GROUPS = /^[1-9]\d{0,2}(?:\.\d{3})+$/;
/** Whole numbers below a thousand, beside which marks in front of three digits are taken for groups. */
const WHOLES_WANTED = 3;

/** What the cells of one column say about the marks in its numbers. */
interface Votes {
  /** Numbers in which a comma, or a point, can only be the decimal mark. */
  commas: number;
  points: number;
  /** Numbers with one mark and three digits behind it: decimals or thousands. */
  openCommas: number;
  openPoints: number;
  /** Different whole numbers from 1 to 999 without a mark, and other numbers without one. */
  wholes: Set<string>;
}

/**
 * Decimal comma when numbers that must have one outnumber those that must have a point. A mark before exactly three
 * digits may also group thousands: that is settled by the other numbers, then by whole numbers below a thousand in the
 * same column, which decimals of a fixed count would not leave without a mark.
 */
export function findDecimal(rows: readonly TextRow[], delimiter: string): { decimal: '.' | ','; why: string } {
  const columns = votesByColumn(rows);
  const total = (count: (votes: Votes) => number) => columns.reduce((sum, votes) => sum + count(votes), 0);
  const [commas, points] = [total((votes) => votes.commas), total((votes) => votes.points)];
  const [openCommas, openPoints] = [total((votes) => votes.openCommas), total((votes) => votes.openPoints)];
  const counts = `${commas + openCommas} numbers with a comma, ${points + openPoints} with a point in the head`;
  const isSettled = commas !== points || openCommas + openPoints === 0;
  if (isSettled) return { decimal: commas > points ? ',' : '.', why: counts };
  const isGrouped = (open: (votes: Votes) => number) =>
    columns.some((votes) => open(votes) > 0 && votes.wholes.size >= WHOLES_WANTED);
  const beside = `${counts}; three digits follow each, and whole numbers below a thousand stand beside them`;
  if (openPoints === 0) {
    if (isGrouped((votes) => votes.openCommas)) return { decimal: '.', why: `${beside}: they group thousands` };
    const isUs = delimiter === ',';
    const place = isUs ? 'between commas, so they group thousands' : 'so they are decimals';
    return {
      decimal: isUs ? '.' : ',',
      why: `${counts}; three digits follow each, ${place}; a profile can say otherwise`,
    };
  }
  if (openCommas === 0 && delimiter !== ',' && isGrouped((votes) => votes.openPoints))
    return { decimal: ',', why: `${beside}: they group thousands` };
  return { decimal: openCommas > openPoints ? ',' : '.', why: counts };
}

function votesByColumn(rows: readonly TextRow[]): Votes[] {
  const columns: Votes[] = [];
  for (const { cells } of rows) {
    cells.forEach((cell, index) => {
      const votes = (columns[index] ??= { commas: 0, points: 0, openCommas: 0, openPoints: 0, wholes: new Set() });
      const body = numberBody(cell);
      if (body !== null) vote(votes, body);
    });
  }
  return columns;
}

/** Digits and marks of a cell that is one number, with or without a unit; null = it is none. */
function numberBody(cell: string): string | null {
  const [, body = '', tail = ''] = BODY.exec(cell) ?? [];
  if (body === '' || !/\d/.test(body)) return null;
  return tail === '' || tail === '-' || findUnit(tail.trim()) !== null ? body.trim() : null;
}

function vote(votes: Votes, body: string): void {
  const [comma, point] = [body.lastIndexOf(','), body.lastIndexOf('.')];
  if (comma < 0 && point < 0) {
    if (/^[1-9]\d{0,2}$/.test(body)) votes.wholes.add(body);
  } else if (comma >= 0 && point >= 0) {
    if (comma > point) votes.commas++;
    else votes.points++;
  } else if (COMMA_GROUPS.test(body)) {
    if (body.indexOf(',') === comma) votes.openCommas++;
    else votes.points++;
  } else if (POINT_GROUPS.test(body)) {
    if (body.indexOf('.') === point) votes.openPoints++;
    else votes.commas++;
  } else if (comma >= 0 && body.indexOf(',') === comma) votes.commas++;
  else if (point >= 0 && body.indexOf('.') === point) votes.points++;
}

/** Why points in a column of a table with decimal commas group thousands; null = they are decimal points. */
export function pointGroups(cells: readonly string[]): string | null {
  let [grouped, whole] = [0, 0];
  for (const cell of cells) {
    const body = numberBody(cell);
    if (body === null) continue;
    if (!body.includes('.')) whole++;
    else if (POINT_GROUPS.test(body.replace(/,\d+$/, ''))) grouped++;
    else return null;
  }
  if (grouped === 0) return null;
  const beside = whole > 0 ? ' and smaller numbers have none' : '';
  return `the table has decimal commas, three digits follow each point${beside}`;
}

/** Share of the numbers of a column behind which one unit must stand. */
const UNIT_SHARE = 0.6;

/** Unit that stands behind most numbers of a column, as first written; null = none, or several. */
export function unitBehind(numbers: readonly WrittenNumber[]): string | null {
  const found = new Map<string, { text: string; count: number }>();
  for (const { unit: text } of numbers) {
    const unit = text === '' ? null : findUnit(text);
    if (!unit) continue;
    const known = found.get(unit.id) ?? { text, count: 0 };
    known.count++;
    found.set(unit.id, known);
  }
  return [...found.values()].find(({ count }) => count >= numbers.length * UNIT_SHARE)?.text ?? null;
}
