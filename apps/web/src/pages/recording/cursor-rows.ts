import { lowerBound, type Rows, type Tiles } from './tiles.js';
import type { Span } from './time-span.js';

/** A signal's value at the cursor. `exact`: of a row; else the last one of a column that holds many rows. */
export interface CursorValue {
  value: number;
  atMs: number;
  exact: boolean;
}

/** The value that holds at an instant: the last one at or before it, for no longer than the hold limit. */
export function valueAt(tiles: Tiles, signal: string, cursorMs: number): CursorValue | null {
  const piece = tiles.pieceAt(signal, cursorMs);
  if (!piece) return null;
  const index = lastAtOrBefore(piece.atMs, cursorMs);
  if (index < 0) return null;
  const exact = piece.stepMs === 0;
  const untilMs = piece.untilMs[index]!;
  if (cursorMs - untilMs > tiles.holdMs) return null;
  return { value: piece.last[index]!, atMs: exact ? piece.atMs[index]! : Math.min(untilMs, cursorMs), exact };
}

/** Every row around the cursor is known for all of these signals, so that values are exact. */
export const exactAt = (tiles: Tiles, signals: readonly string[], cursorMs: number): boolean =>
  signals.every((signal) => tiles.pieceAt(signal, cursorMs)?.stepMs === 0);

/**
 * The row after or before the cursor; null = there is none, or rows around the cursor have not come yet. Beyond what is
 * known row by row, columns say where the next rows are; where such a column holds more than its edges tell, the edge of
 * what is known is answered, so that no row is passed over.
 */
export function nextRow(tiles: Tiles, cursorMs: number, direction: 1 | -1): number | null {
  let edgeMs: number | null = null;
  for (const rows of tiles.rowsKnown(cursorMs)) {
    if (rows.stepMs > 0 && edgeMs === null) return null;
    const found = direction > 0 ? rowAfter(rows, edgeMs ?? cursorMs) : rowBefore(rows, edgeMs ?? cursorMs);
    if (found !== null) return found;
    edgeMs = direction > 0 ? rows.toMs : rows.fromMs;
  }
  return null;
}

function rowAfter({ atMs, untilMs }: Rows, ms: number): number | null {
  const before = lastAtOrBefore(atMs, ms);
  if (before >= 0 && untilMs[before]! > ms) return ms;
  return atMs[before + 1] ?? null;
}

function rowBefore({ atMs, untilMs }: Rows, ms: number): number | null {
  const after = lowerBound(untilMs, ms);
  if (after < atMs.length && atMs[after]! < ms) return ms;
  return untilMs[after - 1] ?? null;
}

/** The first row after the gap that an instant lies in, by what is known; null = it lies in none longer than `leastMs`. */
export function afterGap(tiles: Tiles, atMs: number, leastMs: number): number | null {
  for (const rows of tiles.rowsKnown(atMs)) {
    const before = lastAtOrBefore(rows.atMs, atMs);
    const untilMs = before < 0 ? rows.fromMs : rows.untilMs[before]!;
    if (atMs <= untilMs) return null;
    const next = rows.atMs[before + 1];
    if (next !== undefined) return next - untilMs > leastMs ? next : null;
  }
  return null;
}

/** Of rows with the same instant, the last. */
function lastAtOrBefore(sorted: Float64Array, ms: number): number {
  let index = lowerBound(sorted, ms);
  while (sorted[index] === ms) index++;
  return index - 1;
}

/** What to fetch around the cursor: a minute to both sides, less where rows come so fast that they would not fit. */
export function exactSpan(cursorMs: number, whole: Span, rowsPerMs: number, points: number): Span {
  const halfMs = Math.min(HALF_MS, points / Math.max(1e-9, rowsPerMs) / 2);
  return { fromMs: Math.max(whole.fromMs, cursorMs - halfMs), toMs: Math.min(whole.toMs, cursorMs + halfMs) };
}

const HALF_MS = 60_000;
