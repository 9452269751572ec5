import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Chunker, type ChunkerOptions } from '../../../../../apps/ingest/src/receive/chunker.js';

const plain: ChunkerOptions = { unitBytes: 1, littleEndian: true, quotes: true };

function chunk(bytes: Uint8Array, options: ChunkerOptions, pushes: number[] = [bytes.length]): Uint8Array[] {
  const chunks: Uint8Array[] = [];
  const chunker = new Chunker(options, (part) => chunks.push(part));
  let at = 0;
  for (const size of pushes) {
    chunker.push(bytes.subarray(at, at + size));
    at += size;
  }
  chunker.push(bytes.subarray(at));
  chunker.finish();
  return chunks;
}

const text = (chunks: Uint8Array[]) => chunks.map((part) => Buffer.from(part).toString());

describe('Chunker', () => {
  it('cuts at row ends and loses nothing', () => {
    expect(text(chunk(Buffer.from('a,b\n1,2\n3,4\n5,6\n'), { ...plain, maxBytes: 10 }))).toEqual([
      'a,b\n1,2\n',
      '3,4\n5,6\n',
    ]);
  });

  it('keeps a line break inside quotes with its row (RFC 4180 rule 6)', () => {
    const chunks = text(chunk(Buffer.from('a,b\n1,"x\ny"\n3,4\n'), { ...plain, maxBytes: 11 }));
    expect(chunks).toEqual(['a,b\n', '1,"x\ny"\n', '3,4\n']);
  });

  it('takes a quote in a raw CAN capture for an ordinary byte', () => {
    expect(text(chunk(Buffer.from('a"\nb\nc\n'), { ...plain, quotes: false, maxBytes: 5 }))).toEqual([
      'a"\nb\n',
      'c\n',
    ]);
  });

  it('cuts UTF-16 between code units, and does not take U+0A00 or U+000A halves for a line feed', () => {
    for (const littleEndian of [true, false]) {
      const encoded = Buffer.from('a\u0a00b\nc\u0a0ad\n', 'utf16le');
      const bytes = littleEndian ? encoded : Buffer.from(encoded).swap16();
      const chunks = chunk(bytes, { unitBytes: 2, littleEndian, quotes: true, maxBytes: 10 });
      const decoded = chunks.map((part) =>
        (littleEndian ? Buffer.from(part) : Buffer.from(part).swap16()).toString('utf16le'),
      );
      expect(decoded).toEqual(['a\u0a00b\n', 'c\u0a0ad\n']);
    }
  });

  it('cuts a row longer than the limit where it stands', () => {
    expect(text(chunk(Buffer.from('abcdefghij\nk\n'), { ...plain, maxBytes: 4 }))).toEqual([
      'abcd',
      'efgh',
      'ij\n',
      'k\n',
    ]);
  });

  it('gives the same chunks however the bytes arrive; every chunk but an over-long row ends a row', () => {
    const row = fc
      .array(fc.constantFrom('1', ',', '"', 'ü', ' '), { maxLength: 9 })
      .map((cells) => `${cells.join('')}\n`);
    fc.assert(
      fc.property(fc.array(row, { maxLength: 30 }), fc.array(fc.nat(17), { maxLength: 40 }), (rows, pushes) => {
        const bytes = Buffer.from(rows.join(''));
        const options = { ...plain, maxBytes: 32 };
        const whole = chunk(bytes, options);
        expect(chunk(bytes, options, pushes)).toEqual(whole);
        expect(Buffer.concat(whole).equals(bytes)).toBe(true);
        for (const part of whole) expect(part.length).toBeLessThanOrEqual(32);
      }),
    );
  });
});
