import { readFileSync } from 'node:fs';
import { splitRows } from '@tallybay/decode';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

interface Vector {
  text: string;
  rows: string[][] | null;
  note: string;
}

const vectors = JSON.parse(
  readFileSync(new URL('../../../../fixtures/vectors/csv.json', import.meta.url), 'utf8'),
) as Vector[];

describe('splitRows', () => {
  // RFC 4180 section 2.
  it.each(vectors.filter(({ rows }) => rows !== null))('$note', ({ text, rows }) => {
    expect(splitRows(text, ',').map(({ cells }) => cells)).toEqual(rows);
  });

  it('reads back what RFC 4180 says to write', () => {
    const quote = (cell: string) => (/[",\r\n]/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell);
    const cell = fc.string({ unit: fc.constantFrom('a', '7', ' ', '"', ',', '\n', '\r\n', 'é') });
    const table = fc.array(fc.array(cell, { minLength: 2, maxLength: 4 }), { minLength: 1, maxLength: 5 });
    fc.assert(
      fc.property(table, (rows) => {
        const text = rows.map((cells) => cells.map(quote).join(',')).join('\r\n');
        expect(splitRows(text, ',').map(({ cells }) => cells)).toEqual(rows);
      }),
    );
  });

  it('counts file lines through quoted breaks and blank lines', () => {
    const rows = splitRows('a,b\n"x\ny",1\n\nlast,2', ',');
    expect(rows.map(({ line }) => line)).toEqual([1, 2, 4, 5]);
  });

  it('drops a record that the head may have cut', () => {
    expect(splitRows('a,b\n1,2\n3,', ',', { dropLast: true })).toHaveLength(2);
  });
});
