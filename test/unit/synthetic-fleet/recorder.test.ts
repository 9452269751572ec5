import { DIALECTS, dialect, makeClock, RowBuffer } from '@tallybay/synthetic-fleet';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

const UTF8 = { encoding: 'utf-8', bom: false, decimal: '.' } as const;

function written(write: (out: RowBuffer) => void, format: ConstructorParameters<typeof RowBuffer>[0] = UTF8): string {
  const out = new RowBuffer(format);
  write(out);
  return Buffer.from(out.take()).toString('latin1');
}

describe('RowBuffer', () => {
  it('writes numbers as toFixed does, but for the last half', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -1e6, max: 1e6, noNaN: true }),
        fc.integer({ min: 0, max: 6 }),
        (value, decimals) => {
          const text = written((out) => out.fixed(value, decimals));
          expect(text).toMatch(decimals > 0 ? new RegExp(`^-?\\d+\\.\\d{${decimals}}$`) : /^-?\d+$/);
          expect(Math.abs(Number(text) - value)).toBeLessThanOrEqual(0.5 * 10 ** -decimals + 1e-6);
        },
      ),
    );
  });

  it.each([
    [0, 0, '0'],
    [-0.04, 1, '0.0'],
    [0.05, 2, '0.05'],
    [99.95, 1, '100.0'],
    [-3.5, 2, '-3.50'],
    [1_788_181_868_000, 0, '1788181868000'],
  ])('writes %d with %d decimals as %s', (value, decimals, text) =>
    expect(written((out) => out.fixed(value, decimals))).toBe(text),
  );

  it('writes a decimal comma, Latin-1, UTF-16 and byte order marks', () => {
    expect(written((out) => out.fixed(1.5, 1), { ...UTF8, decimal: ',' })).toBe('1,5');
    expect(written((out) => out.text('Öl'), { ...UTF8, encoding: 'latin1' })).toBe('Öl');
    expect(written((out) => out.text('Ö'), { ...UTF8, encoding: 'utf-16le', bom: true })).toBe('ÿþÖ\0');
    expect(written((out) => out.text('a'), { ...UTF8, bom: true })).toBe('ï»¿a');
  });
});

describe('makeClock', () => {
  const atMs = Date.UTC(2026, 8, 1, 18, 5, 7, 300);
  const setup = {
    offsetMinutes: -360,
    startMs: atMs - 90_500,
    language: 'en',
    delimiterCode: 44,
    fraction: 1,
  } as const;

  it.each([
    ['iso-utc', '2026-09-01T18:05:07.300Z'],
    ['iso-offset', '2026-09-01T12:05:07.3-06:00'],
    ['iso-local', '2026-09-01 12:05:07.3'],
    ['mdy-12h-split', '09/01/2026,12:05:07.3 PM'],
    ['dmy-dots', '01.09.2026 12:05:07.3'],
    ['dmy-slash-split', '01/09/2026,12:05:07.3'],
    ['clock', '12:05:07.300'],
    ['elapsed-s', '90.5'],
    ['epoch-ms', '1788285907300'],
    ['epoch-s', '1788285907.3'],
  ] as const)('%s writes %s', (style, text) =>
    expect(written((out) => makeClock(style, setup).write(out, atMs))).toBe(text),
  );

  it('writes midnight as 12 AM and goes over to the next day', () => {
    const clock = makeClock('mdy-12h-split', setup);
    const midnight = Date.UTC(2026, 8, 2, 6);
    expect(written((out) => clock.write(out, midnight - 100))).toBe('09/01/2026,11:59:59.9 PM');
    expect(written((out) => clock.write(out, midnight))).toBe('09/02/2026,12:00:00.0 AM');
  });
});

describe('the table of dialects', () => {
  it('covers what recorders do', () => {
    const values = (pick: (row: (typeof rows)[number]) => unknown) => new Set(rows.map(pick));
    const rows = DIALECTS.map((row) => dialect(row.id));
    expect(rows.length).toBeGreaterThanOrEqual(10);
    expect(values((row) => row.delimiter)).toEqual(new Set([',', ';', '\t']));
    expect(values((row) => row.encoding)).toEqual(new Set(['utf-8', 'latin1', 'utf-16le']));
    expect(values((row) => row.decimal)).toEqual(new Set(['.', ',']));
    expect(values((row) => row.unitPlace)).toEqual(new Set(['parentheses', 'brackets', 'row', 'none']));
    expect(values((row) => row.time).size).toBe(10);
    expect(rows.some((row) => row.bom && row.encoding === 'utf-8')).toBe(true);
  });

  it('sends what its time needs: a zone for a local clock, a start for elapsed seconds', () => {
    for (const row of DIALECTS.map((one) => dialect(one.id))) {
      const local = ['iso-local', 'mdy-12h-split', 'dmy-dots', 'dmy-slash-split', 'clock'].includes(row.time);
      expect(Boolean(row.send.timeZone), row.id).toBe(local);
      expect(Boolean(row.send.fileName), row.id).toBe(row.time === 'clock');
      expect(Boolean(row.send.recordedAt || row.preamble), row.id).toBe(
        row.time === 'elapsed-s' || Boolean(row.preamble),
      );
    }
  });
});
