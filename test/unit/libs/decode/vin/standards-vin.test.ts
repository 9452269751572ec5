// 49 CFR 565.13 and 565.15, ISO 3779; the head of the table says how the results were computed.
import { decodeVin } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { standardsTable } from '../standards-tables.js';

const year = (text = '-') => (text === '-' ? null : Number(text));

describe('vehicle identification numbers', () => {
  it.each(standardsTable('vin'))('%s', (vin = '', sum, digit, fits, years = '-', light, capped) => {
    for (const written of [vin, vin.toLowerCase(), ` ${vin} `]) {
      const read = decodeVin(written, { currentYear: 2026 });
      expect(read.ok && read.value).toMatchObject({
        ...{ vin, sum: Number(sum), checkDigit: digit, checkOk: fits === 'ok' },
        modelYear: {
          codeYears: years === '-' ? [] : years.split(' ').map(Number),
          lightVehicleYear: year(light),
          cappedYear: year(capped),
        },
      });
    }
  });

  // ISO 3779: 17 characters, no I, O, Q
  it.each([
    '',
    '1M8GDM9AXKP04278',
    '1M8GDM9AXKP0427888',
    'IM8GDM9AXKP042788',
    '1M8GDM9AXKPO42788',
    '1M8GDM9AXKQ042788',
    '1M8GDM9A-KP042788',
    '1M8GDM9AXKP04278é',
  ])('"%s" is malformed', (text) => {
    expect(decodeVin(text)).toMatchObject({ ok: false, problem: { code: 'vin_malformed' } });
  });
});
