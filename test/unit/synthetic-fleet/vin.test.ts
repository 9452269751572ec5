import { makeVin, planVehicle, resolveOptions, vinCheckDigit } from '@tallybay/synthetic-fleet';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

describe('vinCheckDigit', () => {
  // 49 CFR 565.15 Table V sample (1G4AH59H45G118341); the others are widely published worked examples.
  it.each([
    ['1G4AH59H45G118341', '4'],
    ['1M8GDM9AXKP042788', 'X'],
    ['LJCPCBLCX11000237', 'X'],
    ['5GZCZ43D13S812715', '1'],
    ['11111111111111111', '1'],
  ])('%s has %s', (vin, digit) => expect(vinCheckDigit(vin)).toBe(digit));

  it('changes when any one character of the serial number changes', () => {
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 999_999 }), fc.integer({ min: 11, max: 16 }), (serial, place) => {
        const vin = makeVin('van', 2021, serial);
        const other = vin[place] === '7' ? '8' : '7';
        const changed = `${vin.slice(0, place)}${other}${vin.slice(place + 1)}`;
        return vinCheckDigit(changed) !== vin[8];
      }),
    );
  });
});

describe('VINs of the fleet', () => {
  const options = resolveOptions({ seed: 3, vehicles: 300 });
  const vins = Array.from({ length: 300 }, (_, index) => planVehicle(options, index).vin);

  it('are 17 characters without I, O and Q, with the right check digit, and never the same twice', () => {
    for (const vin of vins) {
      expect(vin).toMatch(/^[A-HJ-NPR-Z0-9]{17}$/);
      expect(vinCheckDigit(vin)).toBe(vin[8]);
    }
    expect(new Set(vins).size).toBe(300);
  });
});
