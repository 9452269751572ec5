// Hold rule and "at or above is >=": design of the lake, no outside source. °F edges: exact conversion (NIST SP 811, B.8).
import { celsiusFromFahrenheit, type DwellFact, exposureAtOrAbove } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const row = (change: Partial<DwellFact>): DwellFact => ({
  ...{ driveId: 'd', signal: 'coolant_temp_c', low: 109.5, high: 110.5, seconds: 60, valueSeconds: 6_600 },
  ...{ min: 109.8, max: 110.3 },
  ...change,
});

describe('exposure from dwell', () => {
  it('counts a bin that starts on the stage whole, though the edge was converted another way', () => {
    const edge = (230 - 32) / 1.8;
    const bin = row({
      low: edge,
      high: edge + 0.5,
      seconds: 30,
      valueSeconds: 30 * (edge + 0.2),
      min: edge,
      max: edge + 0.4,
    });
    const exposure = exposureAtOrAbove([bin], celsiusFromFahrenheit(230));
    expect(exposure).toMatchObject({ seconds: 30, exact: true });
    expect(exposure.degreeMinutes).toBeCloseTo(0.1, 9);
  });

  it('decides a bin that contains the stage by its lowest and highest value where they tell', () => {
    expect(exposureAtOrAbove([row({ min: 110, max: 110.2 })], 110)).toMatchObject({ seconds: 60, exact: true });
    expect(exposureAtOrAbove([row({ min: 109.6, max: 109.9 })], 110)).toMatchObject({ seconds: 0, peak: null });
  });

  it('shares out a bin that straddles the stage, and says so', () => {
    const exposure = exposureAtOrAbove([row({ min: 109.75, max: 110.25 })], 110);
    expect(exposure).toMatchObject({ seconds: 30, exact: false, peak: 110.25 });
    expect(exposure.degreeMinutes).toBeCloseTo((30 * 0.125) / 60, 9);
  });

  it('has 0 seconds and no peak for no rows: it is the caller who knows whether there was data', () => {
    expect(exposureAtOrAbove([], 110)).toEqual({ seconds: 0, degreeMinutes: 0, peak: null, exact: true });
  });

  const bins = fc.array(
    fc.record({ at: fc.double({ min: 80, max: 130, noNaN: true }), seconds: fc.integer({ min: 1, max: 4_000 }) }),
    { maxLength: 30 },
  );
  const rowsOf = (list: { at: number; seconds: number }[]) =>
    list.map(({ at, seconds }) => {
      const low = Math.floor(at * 2) / 2;
      return row({ low, high: low + 0.5, seconds, valueSeconds: at * seconds, min: at, max: at });
    });

  it('never grows with a higher stage, and does not depend on order or splitting', () => {
    fc.assert(
      fc.property(
        bins,
        fc.double({ min: 85, max: 125, noNaN: true }),
        fc.double({ min: 0, max: 10, noNaN: true }),
        (list, stage, step) => {
          const rows = rowsOf(list);
          const exposure = exposureAtOrAbove(rows, stage);
          const higher = exposureAtOrAbove(rows, stage + step);
          expect(higher.seconds).toBeLessThanOrEqual(exposure.seconds);
          expect(higher.degreeMinutes).toBeLessThanOrEqual(exposure.degreeMinutes + 1e-9);
          expect(exposureAtOrAbove([...rows].reverse(), stage)).toEqual(exposure);
          const halves = rows.flatMap((item) => {
            const half = { ...item, seconds: item.seconds / 2, valueSeconds: item.valueSeconds / 2 };
            return [half, { ...half, driveId: 'other' }];
          });
          const split = exposureAtOrAbove(halves, stage);
          expect(split.seconds).toBeCloseTo(exposure.seconds, 6);
          expect(split.degreeMinutes).toBeCloseTo(exposure.degreeMinutes, 6);
        },
      ),
    );
  });
});
