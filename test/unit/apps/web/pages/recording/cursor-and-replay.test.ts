import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { afterGap, nextRow, valueAt } from '../../../../../../apps/web/src/pages/recording/cursor-rows.js';
import { advanced, nextOf } from '../../../../../../apps/web/src/pages/recording/replay.js';
import { Tiles } from '../../../../../../apps/web/src/pages/recording/tiles.js';
import {
  inside,
  lengthOf,
  moved,
  type Span,
  zoomed,
} from '../../../../../../apps/web/src/pages/recording/time-span.js';
import { timeTicks, ZoneTime } from '../../../../../../apps/web/src/pages/recording/zone-time.js';
import { START_MS, timeOf, traceOf } from './traces.js';

/** Ten minutes, a gap of two minutes in the middle; every tenth row has a value. */
const ROWS = 7200;
const GAP = { from: 3000, to: 4200 };
const rows = Array.from({ length: ROWS }, (_, row) => row).filter((row) => row < GAP.from || row >= GAP.to);
const WHOLE: Span = { fromMs: timeOf(0), toMs: timeOf(ROWS - 1) };

/** The overview, and rows a minute around an instant. */
function tilesAround(cursorMs: number): Tiles {
  const tiles = new Tiles();
  const add = (span: Span, points: number) => {
    const trace = traceOf(
      Array.from({ length: ROWS }, (_, row) => (row % 10 === 0 ? row : null)),
      span,
      points,
    );
    const kept = trace.at.flatMap((at, index) => {
      const row = Math.round((span.fromMs + at - START_MS) / 100);
      return row < GAP.from || row >= GAP.to ? [index] : [];
    });
    const pick = <T>(all: T[] | undefined) => all && kept.map((index) => all[index]!);
    const { signal, values, first, min, max, last } = trace.signals[0]!;
    tiles.add(
      {
        ...{ ...trace, at: pick(trace.at)!, until: trace.full ? [] : pick(trace.until)! },
        signals: [
          { signal, values: pick(values), first: pick(first), min: pick(min), max: pick(max), last: pick(last) },
        ],
      },
      span,
      points,
    );
  };
  add(WHOLE, 600);
  const near = { fromMs: Math.max(WHOLE.fromMs, cursorMs - 60_000), toMs: Math.min(WHOLE.toMs, cursorMs + 60_000) };
  add(near, 4000);
  return tiles;
}

describe('the cursor', () => {
  it('reads the last value at or before it, for no longer than a value holds', () => {
    const tiles = tilesAround(timeOf(1000));
    expect(valueAt(tiles, 's', timeOf(1000))).toEqual({ value: 1000, atMs: timeOf(1000), exact: true });
    expect(valueAt(tiles, 's', timeOf(1009) + 50)?.value).toBe(1000);
    expect(valueAt(tiles, 'other', timeOf(1000))).toBeNull();
    // The last value before the gap is of row 2990; a value holds 5 s by default.
    expect(valueAt(tilesAround(timeOf(3000)), 's', timeOf(3040))?.value).toBe(2990);
    expect(valueAt(tilesAround(timeOf(3000)), 's', timeOf(3041))).toBeNull();
  });

  it('moves by one row, also over a gap and to both ends', () => {
    expect(nextRow(tilesAround(timeOf(1000)), timeOf(1000), 1)).toBe(timeOf(1001));
    expect(nextRow(tilesAround(timeOf(1000)), timeOf(1000), -1)).toBe(timeOf(999));
    const last = timeOf(GAP.from - 1);
    expect(nextRow(tilesAround(last), last, 1)).toBe(timeOf(GAP.to));
    const first = timeOf(GAP.to);
    expect(nextRow(tilesAround(first), first, -1)).toBe(timeOf(GAP.from - 1));
    expect(nextRow(tilesAround(WHOLE.toMs), WHOLE.toMs, 1)).toBeNull();
    expect(nextRow(tilesAround(WHOLE.fromMs), WHOLE.fromMs, -1)).toBeNull();
  });

  it('waits for rows instead of passing them over', () => {
    const tiles = new Tiles();
    expect(nextRow(tiles, timeOf(5), 1)).toBeNull();
  });
});

describe('the replay', () => {
  const common = { speed: 10, repeat: null, endMs: timeOf(ROWS - 1), afterGap: () => null };

  it('runs at its speed and stops at the end', () => {
    expect(advanced(timeOf(0), 16, common)).toEqual({ cursorMs: timeOf(0) + 160, playing: true });
    expect(advanced(common.endMs - 5, 16, common)).toEqual({ cursorMs: common.endMs, playing: false });
  });

  it('repeats a chosen span, and enters it first', () => {
    const repeat = { fromMs: timeOf(100), toMs: timeOf(200) };
    expect(advanced(timeOf(0), 10, { ...common, repeat }).cursorMs).toBe(timeOf(101));
    fc.assert(
      fc.property(fc.integer({ min: 100, max: 199 }), fc.integer({ min: 1, max: 250 }), (row, elapsedMs) => {
        const next = advanced(timeOf(row), elapsedMs, { ...common, speed: 300, repeat });
        expect(next.playing).toBe(true);
        expect(next.cursorMs).toBeGreaterThanOrEqual(repeat.fromMs);
        expect(next.cursorMs).toBeLessThan(repeat.toMs);
      }),
    );
  });

  it('passes over a gap', () => {
    const tiles = tilesAround(timeOf(GAP.from));
    const skip = (atMs: number) => afterGap(tiles, atMs, 10_000);
    expect(skip(timeOf(GAP.from + 1))).toBe(timeOf(GAP.to));
    expect(skip(timeOf(1000))).toBeNull();
    expect(advanced(timeOf(GAP.from - 1), 100, { ...common, afterGap: skip }).cursorMs).toBe(timeOf(GAP.to));
    expect(rows).not.toContain(GAP.from);
  });

  it('jumps to the nearest instant of a list in either direction', () => {
    expect(nextOf([30, 10, 20], 10, 1)).toBe(20);
    expect(nextOf([30, 10, 20], 10, -1)).toBeNull();
    expect(nextOf([30, 10, 20], 25, -1)).toBe(20);
  });
});

describe('the view', () => {
  const view = fc
    .tuple(fc.integer({ min: 0, max: ROWS - 2 }), fc.integer({ min: 1, max: ROWS - 1 }))
    .map(([from, to]): Span => inside({ fromMs: timeOf(from), toMs: timeOf(from + to) }, WHOLE));

  it('stays inside the recording and keeps the instant that it zooms at', () => {
    fc.assert(
      fc.property(
        view,
        fc.double({ min: 0.05, max: 20, noNaN: true }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        (before, factor, share) => {
          const atMs = before.fromMs + share * lengthOf(before);
          const after = zoomed(before, WHOLE, factor, atMs);
          expect(after.fromMs).toBeGreaterThanOrEqual(WHOLE.fromMs);
          expect(after.toMs).toBeLessThanOrEqual(WHOLE.toMs + 1e-6);
          expect(atMs).toBeGreaterThanOrEqual(after.fromMs - 1e-6);
          expect(atMs).toBeLessThanOrEqual(after.toMs + 1e-6);
          const panned = moved(before, WHOLE, (factor - 5) * 60_000);
          expect(lengthOf(panned)).toBeCloseTo(lengthOf(before), 3);
        },
      ),
    );
  });

  it('has round ticks on the clock of the depot', () => {
    const denver = new ZoneTime('America/Denver', 'en');
    const { atMs, stepMs } = timeTicks({ fromMs: START_MS + 60_000, toMs: START_MS + 86_400_000 }, 900, denver, 90);
    expect(stepMs).toBe(3 * 3_600_000);
    // 14:00 UTC is 08:00 in Denver in September (daylight time, IANA tz database).
    expect(denver.clock(START_MS, 60_000)).toBe('08:00');
    expect(atMs.slice(0, 2).map((ms) => denver.clock(ms, stepMs))).toEqual(['09:00', '12:00']);
    expect(denver.clock(START_MS + 1234, 100)).toBe('08:00:01.2');
    expect(denver.date(START_MS - 9 * 3_600_000)).toBe('Sep 6, 2026');
  });
});
