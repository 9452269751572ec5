import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesOf, column, planOf, readRows } from './read-log.js';

const HEADER = 'Time (s),Latitude (deg),Longitude (deg)\n';
const plan = planOf(bytesOf(`${HEADER}0,1.5,1.5\n1,1.5,1.5\n`));

function read(texts: readonly string[]): number[] {
  const bytes = bytesOf(HEADER + texts.map((text, at) => `${at},1,${text}\n`).join(''));
  return column(plan, readRows(plan, [bytes]), 'longitude_deg');
}

/** Decimal text of 1 to 20 digits with the point anywhere, within the range of a longitude. */
const decimal = fc
  .tuple(
    fc.constantFrom('', '-', '+'),
    fc.integer({ min: 0, max: 179 }),
    fc.string({ unit: fc.constantFrom(...'0123456789'), maxLength: 18 }),
  )
  .map(([sign, whole, fraction]) => `${sign}${whole}${fraction === '' ? '' : `.${fraction}`}`);

describe('numbers read from bytes', () => {
  it('equal what the language reads from the same text, to the last bit', () => {
    fc.assert(
      fc.property(fc.array(decimal, { minLength: 1, maxLength: 50 }), (texts) => {
        expect(read(texts)).toEqual(texts.map(Number));
      }),
      { numRuns: 300 },
    );
  });

  it('equal it for doubles printed in full, and with exponents', () => {
    const double = fc.double({ min: -179, max: 179, noNaN: true });
    fc.assert(
      fc.property(fc.array(double, { minLength: 1, maxLength: 50 }), (values) => {
        // Through the text, because a negative zero prints without its sign.
        for (const texts of [values.map(String), values.map((value) => value.toExponential(17))]) {
          expect(read(texts)).toEqual(texts.map(Number));
        }
      }),
      { numRuns: 100 },
    );
  });
});
