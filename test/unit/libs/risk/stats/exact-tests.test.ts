// Sources beside each check; examples from memory where they say so.
import { benjaminiHochberg, betaCdf, betaQuantile, binomialAtLeast, fisherAtLeast, logGamma } from '@tallybay/risk';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('the beta distribution', () => {
  it('log gamma: factorials, and the square root of pi at one half (DLMF 5.4.1 and 5.4.6)', () => {
    expect(Math.exp(logGamma(6))).toBeCloseTo(120, 10);
    expect(Math.exp(logGamma(0.5))).toBeCloseTo(Math.sqrt(Math.PI), 12);
  });

  it('has the closed forms of a = 1 and of b = 1 (DLMF 8.17.7)', () => {
    for (const x of [0.01, 0.3, 0.72, 0.999]) {
      expect(betaCdf(x, 1, 7)).toBeCloseTo(1 - (1 - x) ** 7, 12);
      expect(betaCdf(x, 4.5, 1)).toBeCloseTo(x ** 4.5, 12);
    }
    expect(betaQuantile(0.05, 1, 10)).toBeCloseTo(1 - 0.95 ** 0.1, 9);
  });

  it('is symmetric, ascending, and its quantile is its inverse (DLMF 8.17.4)', () => {
    const shape = fc.double({ min: 0.5, max: 300, noNaN: true });
    fc.assert(
      fc.property(shape, shape, fc.double({ min: 0.001, max: 0.999, noNaN: true }), (a, b, x) => {
        expect(betaCdf(x, a, b)).toBeCloseTo(1 - betaCdf(1 - x, b, a), 9);
        expect(betaCdf(x, a, b)).toBeLessThanOrEqual(betaCdf(Math.min(1, x + 0.01), a, b) + 1e-12);
        expect(betaCdf(betaQuantile(x, a, b), a, b)).toBeCloseTo(x, 6);
      }),
      { numRuns: 60 },
    );
  });

  it('refuses shapes that are none', () => {
    expect(() => betaCdf(0.5, 0, 1)).toThrow(RangeError);
  });
});

describe('exact tests', () => {
  it('binomial: eight or more heads of ten are 56 of 1024', () => {
    expect(binomialAtLeast(8, 10, 0.5)).toBeCloseTo(56 / 1024, 12);
    expect(binomialAtLeast(0, 10, 0.5)).toBe(1);
    expect(binomialAtLeast(11, 10, 0.5)).toBe(0);
  });

  it("Fisher's tea tasting: all four right by chance in 1 of 70, three or more in 17 of 70 (Fisher 1935, from memory)", () => {
    expect(fisherAtLeast({ both: 4, first: 4, second: 4, all: 8 })).toBeCloseTo(1 / 70, 12);
    expect(fisherAtLeast({ both: 3, first: 4, second: 4, all: 8 })).toBeCloseTo(17 / 70, 12);
  });

  it('Benjamini and Hochberg (1995), their example of 15 p-values: four at 0.05 (from memory)', () => {
    const values = [
      0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.324, 0.4262, 0.5719, 0.6528, 0.759, 1,
    ];
    const turned = values.toReversed();
    expect(benjaminiHochberg(turned).filter((value) => value <= 0.05)).toHaveLength(4);
    expect(benjaminiHochberg(values)[3]).toBeCloseTo((0.0095 * 15) / 4, 12);
  });
});
