// 49 CFR 565.13 and 565.15 (read); worked numbers with their pages in test/fixtures/vectors/vin.json.
import { decodeVin, isVinWellFormed, type VinReading, withCheckDigit } from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

function read(vin: string, options = {}): VinReading {
  const result = decodeVin(vin, options);
  if (!result.ok) throw new Error(result.problem.detail);
  return result.value;
}

describe('check digit', () => {
  it.each([
    ['1M8GDM9AXKP042788', 351, 'X', true],
    ['1G4AH59H45G118341', 411, '4', true],
    ['LJCPCBLCX11000237', 186, 'X', true],
    ['SGZCZ43D13S812715', 384, 'X', false],
    ['WP0ZZZ99ZTS392124', 459, '8', false],
  ])('%s: sum %i, digit %s', (vin, sum, checkDigit, checkOk) => {
    expect(read(vin)).toMatchObject({ sum, checkDigit, checkOk });
  });

  it('is only a warning outside North America, and names the wrong digit inside', () => {
    expect(read('WP0ZZZ99ZTS392124').warnings[0]).toContain('compulsory only');
    expect(read('1M8GDM9AXKP042789').warnings[0]).toContain('one of the characters is wrong');
    expect(read('1M8GDM9AXKP042788').warnings).toEqual([]);
  });

  it('finds any single wrong character other than one of the same value (property)', () => {
    const letters = 'ABCDEFGHJKLMNPRSTUVWXYZ0123456789';
    const character = fc.constantFrom(...letters);
    fc.assert(
      fc.property(fc.array(character, { minLength: 17, maxLength: 17 }), fc.nat(16), character, (list, at, other) => {
        const vin = withCheckDigit(list.join(''));
        expect(read(vin).checkOk).toBe(true);
        const changed = vin.slice(0, at) + other + vin.slice(at + 1);
        if (at !== 8 && read(changed).sum % 11 !== read(vin).sum % 11) expect(read(changed).checkOk).toBe(false);
      }),
    );
  });

  it('refuses 16 characters and the letter O, and says where', () => {
    expect(decodeVin('1M8GDM9AXKP04278')).toMatchObject({ ok: false, problem: { code: 'vin_malformed' } });
    const wrong = decodeVin('1M8GDM9AXKPO42788');
    expect(!wrong.ok && wrong.problem.detail).toContain('position 12');
    expect(isVinWellFormed(' 1m8gdm9axkp042788 ')).toBe(true);
  });
});

describe('model year', () => {
  const year = (vin: string, lightVehicle: boolean | null, currentYear = 2026) =>
    read(vin, { lightVehicle, currentYear }).modelYear;

  it('is decided by position 7 only for a light vehicle', () => {
    expect(year('1M8GDM9AXKP042788', true)).toMatchObject({ year: 1989, candidates: [1989, 2019] });
    expect(year('1M8GDM9AXKP042788', false)).toMatchObject({ year: null, candidates: [1989, 2019] });
    expect(year('1M8GDM9AXKP042788', null).year).toBeNull();
  });

  it('does not lie beyond next year: LJCPCBLCX11000237 is 2001, not 2031', () => {
    expect(year('LJCPCBLCX11000237', true)).toMatchObject({
      year: 2001,
      candidates: [2001],
      lightVehicleYear: 2031,
      cappedYear: 2001,
    });
  });

  it('keeps next year open and drops the one after', () => {
    expect(year('1M8GDMAAXVP042788', true, 2026).candidates).toEqual([1997, 2027]);
    expect(year('1M8GDMAAXWP042788', true, 2026).candidates).toEqual([1998]);
  });

  it('is unknown for an unused code', () => {
    expect(year('1M8GDM9AXUP042788', true)).toMatchObject({ year: null, candidates: [], codeYears: [] });
  });
});
