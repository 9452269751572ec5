import type { Trace } from '@tallybay/contracts';
import type { Span } from './time-span.js';

/**
 * A part of one signal as the server sent it. Columns that hold a value, in time order: instants of first and last row
 * [epoch ms], first, lowest, highest and last value in the catalogue's unit. `stepMs` is the length of a column that was
 * asked for; 0 = every row is a column.
 */
export interface Piece extends Span {
  stepMs: number;
  /** Counts additions: the higher, the newer. */
  serial: number;
  atMs: Float64Array;
  untilMs: Float64Array;
  first: Float64Array;
  min: Float64Array;
  max: Float64Array;
  last: Float64Array;
}

/** Instants of all rows (or of the first and last row of each column) of a part, whatever signal has a value there. */
export interface Rows extends Span {
  stepMs: number;
  serial: number;
  atMs: Float64Array;
  untilMs: Float64Array;
}

/** Parts kept of each signal: the whole recording, what is on screen, and what was looked at a moment ago. */
const KEPT_PIECES = 24;

/** What has been fetched of a recording, from coarse to fine; asked by the drawing for every frame. */
export class Tiles {
  private readonly bySignal = new Map<string, Piece[]>();
  private rows: Rows[] = [];
  private added = 0;
  holdMs = 5000;

  /** @param points columns that were asked for: how fine the answer counts, since the server may round its columns up */
  add(trace: Trace, asked: Span, points: number): void {
    this.holdMs = trace.holdMs;
    const startMs = Date.parse(trace.from);
    const atMs = Float64Array.from(trace.at, (ms) => startMs + ms);
    const untilMs = trace.full ? atMs : Float64Array.from(trace.until, (ms) => startMs + ms);
    const part = { ...asked, stepMs: trace.full ? 0 : (asked.toMs - asked.fromMs) / points, serial: ++this.added };
    this.rows = kept(this.rows, { ...part, atMs, untilMs });
    for (const figures of trace.signals)
      this.bySignal.set(
        figures.signal,
        kept(this.bySignal.get(figures.signal) ?? [], pieceOf(figures, part, atMs, untilMs)),
      );
  }

  /** Parts that show the span best, in time order; finer ones win. Where nothing is known yet there is none. */
  parts(signal: string, span: Span): { piece: Piece; span: Span }[] {
    return cover(this.bySignal.get(signal) ?? [], span, 0);
  }

  /** All of the span is known in steps of at most this length. */
  covers(signal: string, span: Span, stepMs: number): boolean {
    return (this.bySignal.get(signal) ?? []).some(
      (piece) => piece.stepMs <= stepMs && piece.fromMs <= span.fromMs && piece.toMs >= span.toMs,
    );
  }

  /** What is known of the rows around an instant, finest first. */
  rowsKnown(atMs: number): Rows[] {
    return this.rows.filter(({ fromMs, toMs }) => fromMs <= atMs && toMs >= atMs);
  }

  /** The finest known part of a signal around an instant. */
  pieceAt(signal: string, atMs: number): Piece | undefined {
    return this.bySignal.get(signal)?.find(({ fromMs, toMs }) => fromMs <= atMs && toMs >= atMs);
  }
}

/**
 * Finest first; of equally fine ones the newest first. What a part at least as fine covers whole is let go, and the one
 * that has not been renewed for longest where there are too many; never the coarsest, which is the whole recording.
 */
function kept<P extends Span & { stepMs: number; serial: number }>(before: readonly P[], added: P): P[] {
  const needed = before.filter(
    (one) => !(added.stepMs <= one.stepMs && added.fromMs <= one.fromMs && added.toMs >= one.toMs),
  );
  if (needed.length >= KEPT_PIECES) {
    const oldest = Math.min(...needed.slice(0, -1).map(({ serial }) => serial));
    needed.splice(
      needed.findIndex(({ serial }) => serial === oldest),
      1,
    );
  }
  const at = needed.findIndex((one) => one.stepMs >= added.stepMs);
  needed.splice(at < 0 ? needed.length : at, 0, added);
  return needed;
}

function cover(pieces: readonly Piece[], span: Span, from: number): { piece: Piece; span: Span }[] {
  for (let index = from; index < pieces.length; index++) {
    const piece = pieces[index]!;
    const fromMs = Math.max(piece.fromMs, span.fromMs);
    const toMs = Math.min(piece.toMs, span.toMs);
    if (fromMs >= toMs) continue;
    const before = fromMs > span.fromMs ? cover(pieces, { fromMs: span.fromMs, toMs: fromMs }, index + 1) : [];
    const after = toMs < span.toMs ? cover(pieces, { fromMs: toMs, toMs: span.toMs }, index + 1) : [];
    return [...before, { piece, span: { fromMs, toMs } }, ...after];
  }
  return [];
}

type SignalTrace = Trace['signals'][number];
type Figures = (number | null)[];

/** Columns without a value of this signal are left out: each signal has instants of its own. */
function pieceOf(
  { values, first, min, max, last }: SignalTrace,
  part: Span & { stepMs: number; serial: number },
  atMs: Float64Array,
  untilMs: Float64Array,
): Piece {
  const leading = values ?? first ?? [];
  const taken: number[] = [];
  for (let index = 0; index < leading.length; index++) if (leading[index] !== null) taken.push(index);
  const figuresOf = (all: Figures) => Float64Array.from(taken, (index) => all[index]!);
  const instants = Float64Array.from(taken, (index) => atMs[index]!);
  if (values) {
    const each = figuresOf(values);
    return { ...part, atMs: instants, untilMs: instants, first: each, min: each, max: each, last: each };
  }
  return {
    ...part,
    atMs: instants,
    untilMs: Float64Array.from(taken, (index) => untilMs[index]!),
    ...{ first: figuresOf(first!), min: figuresOf(min!), max: figuresOf(max!), last: figuresOf(last!) },
  };
}

/** Index of the first entry that is not below `value`; the length when all are. */
export function lowerBound(sorted: Float64Array, value: number): number {
  let low = 0;
  let high = sorted.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (sorted[middle]! < value) low = middle + 1;
    else high = middle;
  }
  return low;
}
