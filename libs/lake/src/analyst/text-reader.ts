import type { DuckDBVector } from '@duckdb/node-api';
import type { Span } from './result-columns.js';

/** A text in DuckDB's vectors: its length, then 12 bytes of it, or 4 bytes and where all of it is. */
const WORDS_A_TEXT = 4;
/** A power of two; texts of a column repeat, and few different ones come close together. */
const SLOTS = 256;

/** What the node binding keeps private. */
interface RawTexts {
  dataView: DataView;
}

/**
 * Reads texts of vectors. Making a JavaScript string out of memory of DuckDB's costs over a microsecond, and ids come thousands of
 * times in a row: equal references within one vector are one text, which is made once.
 */
export class TextReader {
  private readonly keys = new Uint32Array(SLOTS * WORDS_A_TEXT);
  private readonly texts: string[] = Array.from({ length: SLOTS }, () => '');

  /** @param present 0 for rows of the block that are null @param out takes the texts */
  read(vector: DuckDBVector, { from, count, at }: Span, present: Uint8Array, out: (string | null)[]): void {
    const { dataView } = vector as unknown as RawTexts;
    const words = new Uint32Array(dataView.buffer, dataView.byteOffset, dataView.byteLength >> 2);
    // A reference means nothing in another vector. All zero is the empty text.
    this.keys.fill(0);
    this.texts.fill('');
    for (let row = 0; row < count; row++) {
      if (present[at + row] === 0) out[at + row] = null;
      else out[at + row] = this.text(vector, words, from + row);
    }
  }

  private text(vector: DuckDBVector, words: Uint32Array, row: number): string {
    const { keys, texts } = this;
    const word = row * WORDS_A_TEXT;
    const [a, b, c, d] = [words[word]!, words[word + 1]!, words[word + 2]!, words[word + 3]!];
    const slot = (Math.imul(a ^ b ^ Math.imul(c, 31) ^ Math.imul(d, 17), 0x9e3779b1) >>> 24) % SLOTS;
    const key = slot * WORDS_A_TEXT;
    if (keys[key] === a && keys[key + 1] === b && keys[key + 2] === c && keys[key + 3] === d) return texts[slot]!;
    const text = vector.getItem(row) as string;
    keys[key] = a;
    keys[key + 1] = b;
    keys[key + 2] = c;
    keys[key + 3] = d;
    texts[slot] = text;
    return text;
  }
}
