import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  emptyPixelColumns,
  fillPixelColumns,
  type PixelColumns,
} from '../../../../../../apps/web/src/pages/recording/pixel-columns.js';
import { Tiles } from '../../../../../../apps/web/src/pages/recording/tiles.js';
import type { Span } from '../../../../../../apps/web/src/pages/recording/time-span.js';
import { timeOf, traceOf } from './traces.js';

const ROWS = 1500;
const WHOLE: Span = { fromMs: timeOf(0), toMs: timeOf(ROWS - 1) };
const span = fc
  .tuple(fc.integer({ min: 0, max: ROWS - 2 }), fc.integer({ min: 1, max: ROWS }))
  .map(([from, length]): Span => ({ fromMs: timeOf(from), toMs: timeOf(Math.min(ROWS - 1, from + length)) }));
const piece = fc.record({ span, points: fc.integer({ min: 10, max: 300 }) });

function drawn(tiles: Tiles, view: Span, widthPx: number): PixelColumns {
  return fillPixelColumns(emptyPixelColumns(1), tiles.parts('s', view), { span: view, widthPx, holdMs: 5000 });
}

/** Columns of a drawing as objects, so that they can be searched. */
const list = (columns: PixelColumns) =>
  Array.from({ length: columns.length }, (_, index) => ({
    ...{ left: columns.left[index]!, right: columns.right[index]!, min: columns.min[index]!, max: columns.max[index]! },
    broken: columns.breakBefore[index] === 1,
  }));

describe('columns of the screen', () => {
  it('show a single-sample spike where it stood, at every zoom, whatever has been fetched so far', () => {
    const ask = fc.record({
      spike: fc.integer({ min: 0, max: ROWS - 1 }),
      before: fc.integer({ min: 0, max: ROWS }),
      after: fc.integer({ min: 1, max: ROWS }),
      widthPx: fc.integer({ min: 40, max: 1200 }),
      pieces: fc.array(piece, { maxLength: 6 }),
    });
    fc.assert(
      fc.property(ask, ({ spike, before, after, widthPx, pieces }) => {
        const values = Array.from({ length: ROWS }, (_, row) => (row === spike ? 99 : row % 7));
        const tiles = new Tiles();
        tiles.add(traceOf(values, WHOLE, 100), WHOLE, 100);
        for (const { span: part, points } of pieces) tiles.add(traceOf(values, part, points), part, points);
        const view = {
          fromMs: Math.max(WHOLE.fromMs, timeOf(spike - before)),
          toMs: Math.min(WHOLE.toMs, timeOf(spike + after)),
        };
        if (view.fromMs >= view.toMs) return;
        const atPx = ((timeOf(spike) - view.fromMs) / (view.toMs - view.fromMs)) * widthPx;
        const columns = list(drawn(tiles, view, widthPx));
        const holding = columns.filter(({ max }) => max === 99);
        // Within a pixel: neighbours that begin in the same pixel were joined.
        expect(holding.some(({ left, right }) => left - 1 <= atPx && right + 1 >= atPx)).toBe(true);
      }),
      {
        numRuns: 120,
        // A fine piece ends within a pixel, and the coarse columns behind it begin there and run into the next.
        examples: [
          [
            {
              ...{ spike: 484, before: 447, after: 759, widthPx: 49 },
              pieces: [{ span: { fromMs: timeOf(4), toMs: timeOf(456) }, points: 31 }],
            },
          ],
          [
            {
              ...{ spike: 1467, before: 99, after: 1, widthPx: 40 },
              pieces: [{ span: { fromMs: timeOf(967), toMs: timeOf(1481) }, points: 221 }],
            },
          ],
        ],
      },
    );
  });

  it('never show a value that no row had', () => {
    const ask = fc.record({
      view: span,
      widthPx: fc.integer({ min: 40, max: 1200 }),
      pieces: fc.array(piece, { maxLength: 6 }),
    });
    fc.assert(
      fc.property(ask, ({ view, widthPx, pieces }) => {
        const values = Array.from({ length: ROWS }, (_, row) => Math.round(50 + 40 * Math.sin(row / 90)));
        const tiles = new Tiles();
        tiles.add(traceOf(values, WHOLE, 100), WHOLE, 100);
        for (const { span: part, points } of pieces) tiles.add(traceOf(values, part, points), part, points);
        const columns = list(drawn(tiles, view, widthPx));
        expect(columns.length).toBeGreaterThan(0);
        for (const { min, max } of columns)
          expect(values.includes(min) && values.includes(max) && min <= max).toBe(true);
        const lefts = columns.map(({ left }) => left);
        expect(lefts).toEqual([...lefts].sort((a, b) => a - b));
      }),
      { numRuns: 50 },
    );
  });

  it('break the line over a gap longer than a value holds, and only there', () => {
    const values = Array.from({ length: ROWS }, (_, row) => (row >= 700 && row < 800 ? null : 5));
    const tiles = new Tiles();
    tiles.add(traceOf(values, WHOLE, 500), WHOLE, 500);
    const broken = list(drawn(tiles, WHOLE, 500)).filter(({ broken: is }) => is);
    expect(broken).toHaveLength(2);
    expect(broken[0]!.left).toBe(0);
    expect(broken[1]!.left).toBeGreaterThan((799 / ROWS) * 500 - 1);
  });

  it('leave a signal its own instants: rows without its value are no columns', () => {
    const values = Array.from({ length: 100 }, (_, row) => (row % 10 === 0 ? row : null));
    const view = { fromMs: timeOf(0), toMs: timeOf(99) };
    const tiles = new Tiles();
    tiles.add(traceOf(values, view, 100), view, 100);
    expect(drawn(tiles, view, 990).length).toBe(10);
  });
});

describe('what has been fetched', () => {
  it('covers a view once it is known in its own steps, and a finer part takes the place of a coarser one', () => {
    const values = Array.from({ length: ROWS }, (_, row) => row);
    const tiles = new Tiles();
    const view = { fromMs: timeOf(400), toMs: timeOf(799) };
    tiles.add(traceOf(values, WHOLE, 100), WHOLE, 100);
    expect(tiles.covers('s', view, 1000)).toBe(false);
    tiles.add(traceOf(values, view, 200), view, 200);
    expect(tiles.covers('s', view, 1000)).toBe(true);
    const parts = tiles.parts('s', WHOLE);
    expect(parts.map(({ span: part }) => [part.fromMs, part.toMs])).toEqual([
      [WHOLE.fromMs, view.fromMs],
      [view.fromMs, view.toMs],
      [view.toMs, WHOLE.toMs],
    ]);
  });

  it('keeps the whole recording however much is looked at', () => {
    const values = Array.from({ length: ROWS }, (_, row) => row);
    const tiles = new Tiles();
    tiles.add(traceOf(values, WHOLE, 100), WHOLE, 100);
    for (let number = 0; number < 30; number++) {
      const part = { fromMs: timeOf(number * 45), toMs: timeOf(number * 45 + 40) };
      tiles.add(traceOf(values, part, 50), part, 50);
    }
    expect(tiles.covers('s', WHOLE, (WHOLE.toMs - WHOLE.fromMs) / 100)).toBe(true);
    expect(tiles.pieceAt('s', timeOf(29 * 45 + 10))?.stepMs).toBe(0);
  });
});
