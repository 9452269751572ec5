import { readFileSync } from 'node:fs';
import { conversionFor, convert, findUnit, UNITS } from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

interface Vector {
  from: string;
  to: string;
  value: number;
  expected: number;
  source: string;
}

const vectors = JSON.parse(
  readFileSync(new URL('../../../../fixtures/vectors/units.json', import.meta.url), 'utf8'),
) as Vector[];

describe('convert', () => {
  // NIST SP 811 (2008), appendix B.8 and B.9, recomputed from the exact definitions; ten decimals are given.
  it.each(vectors)('$value $from is $expected $to', ({ from, to, value, expected }) => {
    expect(Math.abs(convert(value, from, to) - expected)).toBeLessThan(1.5e-9);
  });

  // Exact rational: (F - 32) * 5 / 9 with F = n / 10 is (n - 320) / 18. NIST SP 811, B.8.
  it('puts every tenth of a degree Fahrenheit on the nearest 1e-9 degree Celsius of the exact quotient', () => {
    const wrong: number[] = [];
    for (let n = -4000; n <= 33_000; n++) {
      const degC = convert(n / 10, 'degF', 'degC');
      const steps = (BigInt(n - 320) * 2_000_000_000n + (n >= 320 ? 18n : -18n)) / 36n;
      if (degC !== Number(steps) / 1e9) wrong.push(n / 10);
    }
    expect(wrong).toEqual([]);
    expect(convert(179.6, 'degF', 'degC')).toBe(82);
    expect(convert(176, '°F', 'Celsius')).toBe(80);
  });

  it('comes back to where it started', () => {
    const pairs = UNITS.flatMap((from) =>
      UNITS.filter((to) => to.quantity === from.quantity && from.quantity !== 'fuel_economy').map((to) => [
        from.id,
        to.id,
      ]),
    );
    fc.assert(
      fc.property(fc.constantFrom(...pairs), fc.integer({ min: 1, max: 500_000 }), ([from, to], tenths) => {
        const value = tenths / 10;
        const back = convert(convert(value, from as string, to as string), to as string, from as string);
        // A detour through a unit a million times larger keeps nine decimals of that unit.
        const detour = Math.abs(conversionFor(to as string, from as string)?.scale ?? 1e4) * 1e-9;
        return Math.abs(back - value) <= Math.max(1e-9 * value, detour, 1e-8);
      }),
    );
  });

  it('says which unit is unknown or of another quantity', () => {
    expect(() => convert(1, 'furlong', 'km')).toThrow(/"furlong" is not known/);
    expect(() => convert(1, 'psi', 'degC')).toThrow(/pressure.*temperature/);
  });
});

describe('findUnit', () => {
  // Spellings of recorders; trade usage, no source.
  it.each([
    ['°F', 'degF'],
    ['degF', 'degF'],
    ['deg. F', 'degF'],
    ['Â°C', 'degC'],
    ['º C', 'degC'],
    ['℃', 'degC'],
    ['GRAD C', 'degC'],
    ['PSIg', 'psi'],
    ['mbar', 'hPa'],
    ['KPH', 'km/h'],
    ['kmh', 'km/h'],
    ['U/min', 'rpm'],
    ['1/min', 'rpm'],
    ['min-1', 'rpm'],
    ['min⁻¹', 'rpm'],
    ['ft-lb', 'lbf.ft'],
    ['lb·ft', 'lbf.ft'],
    ['N·m', 'N.m'],
    ['lb/min', 'lb/min'],
    ['gal/h', 'gal/h'],
    ['l/h', 'L/h'],
    ['pct', '%'],
    ['in Hg', 'inHg'],
    ['inH2O', 'inH2O'],
    ['', undefined],
    ['parsec', undefined],
  ])('reads %s', (spelling, id) => {
    expect(findUnit(spelling)?.id).toBe(id);
  });

  it('takes a shared spelling for the quantity asked', () => {
    expect(findUnit('g', 'acceleration')?.id).toBe('g0');
    expect(findUnit('g')?.id).toBe('g');
  });

  it('has every id once', () => {
    expect(new Set(UNITS.map(({ id }) => id)).size).toBe(UNITS.length);
  });
});
