import { TallybayError } from '@tallybay/contracts';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { bytesText, durationText, plural, valueText } from '../../../../apps/cli/src/output/numbers.js';
import { errorLines, problemSummary } from '../../../../apps/cli/src/output/problem-text.js';
import { tableLines, wrapLines } from '../../../../apps/cli/src/output/table.js';

describe('a table', () => {
  it('aligns its columns and leaves out blank ones', () => {
    const columns = [{ title: 'vehicle' }, { title: 'note' }, { title: 'score', align: 'right' as const }];
    expect(
      tableLines(columns, [
        ['KV-101', '', '0.5'],
        ['KV-1', '', '12.25'],
      ]),
    ).toEqual(['vehicle  score', '-------  -----', 'KV-101     0.5', 'KV-1     12.25']);
  });

  it('has lines no longer than its rule, and every cell in place, for any content', () => {
    const cell = fc.string({ unit: fc.constantFrom('a', 'é', ' ', '°', '-', '9'), maxLength: 12 });
    fc.assert(
      fc.property(fc.array(fc.tuple(cell, cell), { minLength: 1, maxLength: 8 }), (rows) => {
        const lines = tableLines([{ title: 'left' }, { title: 'right', align: 'right' }], rows);
        expect(lines).toHaveLength(rows.length + 2);
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(lines[1]!.length);
      }),
    );
  });
});

describe('wrapping', () => {
  it('keeps every word in order and no line too long, unless a word is', () => {
    const word = fc.string({ unit: fc.constantFrom('a', 'b', 'ü'), minLength: 1, maxLength: 9 });
    fc.assert(
      fc.property(fc.array(word, { minLength: 1, maxLength: 30 }), fc.integer({ min: 12, max: 40 }), (words, width) => {
        const lines = wrapLines(words.join(' '), width, '  ');
        expect(lines.join(' ').split(/ +/).filter(Boolean)).toEqual(words);
        for (const line of lines) expect(line.length).toBeLessThanOrEqual(width);
      }),
    );
  });
});

describe('numbers', () => {
  it.each([
    [bytesText(0), '0 B'],
    [bytesText(999), '999 B'],
    [bytesText(1_250_000), '1.3 MB'],
    [durationText(59.4), '59 s'],
    [durationText(185), '3 min 05 s'],
    [durationText(7_800), '2 h 10 min'],
    [valueText(null), '-'],
    [valueText(0), '0'],
    [valueText(81.99999999), '82'],
    [plural(1, 'file'), '1 file'],
    [plural(1200, 'file'), '1,200 files'],
  ])('%s', (text, expected) => expect(text).toBe(expected));
});

describe('a problem', () => {
  const error = new TallybayError('log_no_time', 'no column of 3 holds times', {
    advice: 'Export the log with its time column.',
    place: { file: 'a.csv', row: 2, column: 'Zeit' },
  });

  it('is a sentence, the place and the advice', () => {
    expect(errorLines(error)).toEqual([
      'tallybay: The log has no column that can be read as time: no column of 3 holds times.',
      '  where:      file a.csv, row 2, column "Zeit"',
      '  what to do: Export the log with its time column.',
    ]);
  });

  it('fits one line of a list', () => {
    expect(problemSummary(new TallybayError('body_empty', 'a.csv holds no bytes').toDocument())).toBe(
      'The upload is empty: a.csv holds no bytes.',
    );
  });
});
