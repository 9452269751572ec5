import { lowerBound, type Piece } from './tiles.js';
import { lengthOf, type Span } from './time-span.js';

/**
 * What one lane draws, left to right: columns at least a pixel wide, in px from the left edge of the plot, their figures
 * in the catalogue's unit, and whether the line breaks before them. Buffers are reused from frame to frame.
 */
export interface PixelColumns {
  length: number;
  left: Float64Array;
  right: Float64Array;
  first: Float64Array;
  min: Float64Array;
  max: Float64Array;
  last: Float64Array;
  breakBefore: Uint8Array;
  /** The column stands for rows that have not been fetched one by one or pixel by pixel yet. */
  coarse: Uint8Array;
}

export function emptyPixelColumns(capacity: number): PixelColumns {
  const one = () => new Float64Array(capacity);
  return {
    length: 0,
    ...{ left: one(), right: one(), first: one(), min: one(), max: one(), last: one() },
    ...{ breakBefore: new Uint8Array(capacity), coarse: new Uint8Array(capacity) },
  };
}

/** A piece, and the part of the view that it is to show. */
export interface Part {
  piece: Piece;
  span: Span;
}

interface View {
  span: Span;
  widthPx: number;
  /** A longer step between rows is a gap. */
  holdMs: number;
}

/**
 * Columns of the server joined to columns of the screen: neighbours that begin in the same pixel become one, with the
 * lowest and the highest of all. One column beyond each edge is kept so that lines run on to it. The value of every row in
 * the span lies between lowest and highest of a column that stands where the row does.
 */
export function fillPixelColumns(into: PixelColumns, parts: readonly Part[], view: View): PixelColumns {
  const ranges = parts.map((part) => rangeOf(part, view.span));
  const most = ranges.reduce((sum, [from, to]) => sum + to - from, 0);
  const columns = most > into.left.length ? emptyPixelColumns(most * 2) : into;
  columns.length = 0;
  const pxPerMs = view.widthPx / Math.max(1e-9, lengthOf(view.span));
  let endedMs = Number.NEGATIVE_INFINITY;
  for (const [number, { piece, span }] of parts.entries()) {
    const [from, to] = ranges[number]!;
    // Only within its own part of the view: beyond it a finer piece knows better.
    const leastMs = span.fromMs > view.span.fromMs ? span.fromMs : Number.NEGATIVE_INFINITY;
    const mostMs = span.toMs < view.span.toMs ? span.toMs : Number.POSITIVE_INFINITY;
    for (let index = from; index < to; index++) {
      const gap = piece.atMs[index]! - endedMs > view.holdMs;
      endedMs = piece.untilMs[index]!;
      const left = (Math.max(piece.atMs[index]!, leastMs) - view.span.fromMs) * pxPerMs;
      const right = (Math.min(endedMs, mostMs) - view.span.fromMs) * pxPerMs;
      const before = columns.length - 1;
      if (before >= 0 && Math.floor(columns.left[before]!) === Math.floor(left) && right - left < 1)
        join(columns, before, piece, index, right);
      else push(columns, piece, index, { left, right, gap, coarse: piece.stepMs > 0 && right - left > COARSE_PX });
    }
  }
  return columns;
}

/** Wider columns are drawn as what they are: somewhere in here, between these two. */
const COARSE_PX = 2.5;

/** Columns of the piece that touch its part of the view, and one beyond where the part ends with the view. */
function rangeOf({ piece, span }: Part, view: Span): [number, number] {
  const from = lowerBound(piece.untilMs, span.fromMs);
  let to = lowerBound(piece.atMs, span.toMs);
  if (piece.atMs[to] === span.toMs) to++;
  return [
    span.fromMs <= view.fromMs ? Math.max(0, from - 1) : from,
    span.toMs >= view.toMs ? Math.min(piece.atMs.length, to + 1) : to,
  ];
}

/** Ends where the later of the two does: its extremes may stand there, in the next pixel. */
function join(columns: PixelColumns, at: number, piece: Piece, index: number, right: number): void {
  columns.right[at] = Math.max(columns.right[at]!, right);
  columns.last[at] = piece.last[index]!;
  columns.min[at] = Math.min(columns.min[at]!, piece.min[index]!);
  columns.max[at] = Math.max(columns.max[at]!, piece.max[index]!);
}

function push(
  columns: PixelColumns,
  piece: Piece,
  index: number,
  drawn: { left: number; right: number; gap: boolean; coarse: boolean },
): void {
  const at = columns.length++;
  columns.left[at] = drawn.left;
  columns.right[at] = drawn.right;
  columns.first[at] = piece.first[index]!;
  columns.min[at] = piece.min[index]!;
  columns.max[at] = piece.max[index]!;
  columns.last[at] = piece.last[index]!;
  columns.breakBefore[at] = drawn.gap ? 1 : 0;
  columns.coarse[at] = drawn.coarse ? 1 : 0;
}
