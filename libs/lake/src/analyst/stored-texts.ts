import type { DuckDBVector } from '@duckdb/node-api';
import bindings from '@duckdb/node-bindings';
import type { Span } from './result-columns.js';
import type { TextColumn } from './text-column.js';

/** A text in DuckDB's vectors: its length, then up to 12 bytes of it, or 4 of them and the address of all. */
const BYTES_A_TEXT = 16;
const WORDS_A_TEXT = 4;
const MOST_INLINE = 12;

/** What the node binding keeps private. */
interface RawTexts {
  dataView: DataView;
}

/**
 * Copies the texts of a vector's rows. Reaching memory of DuckDB's costs about a microsecond each time, and a vector has up to
 * 2,048 texts; DuckDB keeps those of one vector side by side, so what lies in one piece is reached once.
 * @param present 0 for rows of the block that are null
 */
export function copyTexts(vector: DuckDBVector, span: Span, present: Uint8Array, out: TextColumn): void {
  const { dataView } = vector as unknown as RawTexts;
  new Copy(dataView, span, present, out).run();
}

/** One span's copying. */
class Copy {
  private readonly words: Uint32Array;
  private readonly inline: Uint8Array;
  private piece: Uint8Array = new Uint8Array();
  private pieceAt = 0;

  constructor(
    private readonly view: DataView,
    private readonly span: Span,
    private readonly present: Uint8Array,
    private readonly out: TextColumn,
  ) {
    this.words = new Uint32Array(view.buffer, view.byteOffset, view.byteLength >> 2);
    this.inline = new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  }

  run(): void {
    const { from, count, at } = this.span;
    const { offsets } = this.out;
    let end = offsets[at]!;
    for (let row = 0; row < count; row++) offsets[at + row + 1] = end += this.length(row);
    const data = this.out.withRoom(offsets[at]!, end - offsets[at]!);
    for (let row = 0; row < count; row++) {
      const length = this.length(row);
      if (length > MOST_INLINE) row = this.copyPiece(row, data) - 1;
      else {
        const first = (from + row) * BYTES_A_TEXT + 4;
        let to = offsets[at + row]!;
        for (let byte = first; byte < first + length; byte++) data[to++] = this.inline[byte]!;
      }
    }
  }

  /** Copies the rows from this one on whose texts follow each other in memory. @returns the row after them */
  private copyPiece(first: number, data: Buffer): number {
    const { count, at } = this.span;
    const start = this.address(first);
    let bytes = this.length(first);
    let row = first + 1;
    // Rows without bytes of their own (null, empty) change nothing about what is copied.
    for (; row < count; row++) {
      const length = this.length(row);
      if (length === 0) continue;
      if (length <= MOST_INLINE || this.address(row) !== start + bytes) break;
      bytes += length;
    }
    data.set(this.memory(first, start, bytes), this.out.offsets[at + first]!);
    return row;
  }

  /** Memory from the text of a row on; often the rest of what was reached for an earlier row. */
  private memory(row: number, start: number, bytes: number): Uint8Array {
    const skipped = start - this.pieceAt;
    if (skipped >= 0 && skipped + bytes <= this.piece.length) return this.piece.subarray(skipped, skipped + bytes);
    const all = Math.max(bytes, this.extent(row, start));
    const addressAt = this.view.byteOffset + (this.span.from + row) * BYTES_A_TEXT + 8;
    this.piece = bindings.get_data_from_pointer(this.view.buffer as ArrayBuffer, addressAt, all);
    this.pieceAt = start;
    return this.piece.subarray(0, bytes);
  }

  /** Bytes that long texts fill without a gap from the address on: short ones between them are elsewhere. */
  private extent(first: number, start: number): number {
    let end = start;
    for (let row = first; row < this.span.count; row++) {
      const length = this.length(row);
      if (length <= MOST_INLINE) continue;
      if (this.address(row) !== end) break;
      end += length;
    }
    return end - start;
  }

  private length(row: number): number {
    if (this.present[this.span.at + row] === 0) return 0;
    return this.words[(this.span.from + row) * WORDS_A_TEXT]!;
  }

  /** Addresses of user space have 47 bits (x86-64) or 48 (AArch64), so a double holds them. */
  private address(row: number): number {
    const word = (this.span.from + row) * WORDS_A_TEXT;
    return this.words[word + 2]! + this.words[word + 3]! * 2 ** 32;
  }
}
