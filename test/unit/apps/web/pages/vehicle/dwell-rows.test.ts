// The page's own rules, no source.
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dwellRows, shadeOf } from '../../../../../../apps/web/src/pages/vehicle/dwell-rows.js';

const celsius = { unit: 'degC', convert: (value: number) => value };
const fahrenheit = { unit: 'degF', convert: (value: number) => value * 1.8 + 32 };
const stages = (['watch', 'caution', 'alarm', 'severe'] as const).map((stage, index) => {
  const written = 220 + 10 * index;
  return { stage, value: ((written - 32) * 5) / 9, written: `${written} °F` };
});
/** Bins as the decoder cuts them: at whole °F and at half °C. */
const edges = [
  ...new Set([
    ...Array.from({ length: 281 }, (_edge, at) => at / 2),
    ...Array.from({ length: 253 }, (_edge, at) => (at * 5) / 9),
  ]),
].sort((a, b) => a - b);
const bins = fc.array(
  fc.record({ at: fc.nat(edges.length - 2), seconds: fc.array(fc.nat(7200), { minLength: 3, maxLength: 3 }) }),
  { maxLength: 40 },
);
const cut = (drawn: { at: number; seconds: number[] }[]) =>
  drawn.map(({ at, seconds }) => ({ low: edges[at]!, high: edges[at + 1]!, seconds }));

describe('rows of the dwell picture', () => {
  it('lose no second of any week, in either unit', () => {
    fc.assert(
      fc.property(bins, fc.constantFrom(celsius, fahrenheit), (drawn, unit) => {
        const rows = dwellRows({ bins: cut(drawn), stages }, unit, 1);
        for (const week of [0, 1]) {
          const due = drawn.reduce((all, { seconds }) => all + seconds[week + 1]!, 0);
          expect(rows.reduce((all, row) => all + (row.seconds[week] ?? 0), 0)).toBe(due);
        }
      }),
    );
  });

  it('never split a recorded bin: its whole range lies within one row', () => {
    fc.assert(
      fc.property(fc.nat(edges.length - 2), fc.constantFrom(celsius, fahrenheit), (at, unit) => {
        const [bin] = cut([{ at, seconds: [60] }]);
        const row = dwellRows({ bins: [bin!], stages }, unit, 0).find(({ seconds }) => seconds[0]! > 0)!;
        expect(unit.convert(bin!.low)).toBeGreaterThanOrEqual((row.from ?? -Infinity) - 1e-6);
        expect(unit.convert(bin!.high)).toBeLessThanOrEqual((row.to ?? Infinity) + 1e-6);
      }),
    );
  });

  it('go from the hottest down, each stage beginning a row of its own', () => {
    const rows = dwellRows({ bins: cut([{ at: 100, seconds: [5] }]), stages }, fahrenheit, 0);
    expect(rows.slice(0, 4).map(({ stage }) => stage)).toEqual(['severe', 'alarm', 'caution', 'watch']);
    expect(rows.slice(0, 6).map(({ from }) => Math.round(from!))).toEqual([250, 240, 230, 220, 200, 180]);
    expect(rows.at(-1)).toMatchObject({ from: null, stage: null });
  });

  it('are shaded by the steps that the legend names', () => {
    expect([0, 1, 59, 60, 599, 600, 3599, 3600].map(shadeOf)).toEqual([0, 1, 1, 2, 2, 3, 3, 4]);
  });
});
