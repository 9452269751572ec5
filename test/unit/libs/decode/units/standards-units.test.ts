// NIST SP 811 (2008), appendix B.8 and B.9; the head of the table says how the results were computed.
import { convert } from '@tallybay/decode';
import { describe, expect, it } from 'vitest';
import { standardsTable } from '../standards-tables.js';

describe('conversions', () => {
  it.each(standardsTable('units'))('%s %s to %s', (value, from = '', to = '', result) => {
    const wanted = Number(result);
    expect(Math.abs(convert(Number(value), from, to) - wanted)).toBeLessThanOrEqual(
      1e-9 * Math.max(1, Math.abs(wanted)),
    );
  });
});
