/** Texts of a column as UTF-8, one after the other (the layout of Arrow's variable-size binary columns). A null has no bytes. */
export class TextColumn {
  /** Text of row r: bytes [offsets[r], offsets[r + 1]). */
  readonly offsets: Int32Array;
  private data: Buffer;

  constructor(rows: number) {
    this.offsets = new Int32Array(rows + 1);
    this.data = Buffer.allocUnsafeSlow(Math.max(1_024, rows * 16));
  }

  /** All bytes of the first `rows` texts. */
  bytes(rows: number): Buffer {
    return this.data.subarray(0, this.offsets[rows]);
  }

  text(row: number): string {
    return this.data.toString('utf8', this.offsets[row], this.offsets[row + 1]);
  }

  put(row: number, text: string): void {
    const at = this.offsets[row]!;
    const data = this.withRoom(at, text.length * MOST_BYTES_A_UNIT);
    this.offsets[row + 1] = at + data.write(text, at, 'utf8');
  }

  /** The bytes, with room for so many from `at` on. */
  withRoom(at: number, count: number): Buffer {
    if (at + count > this.data.length) {
      const larger = Buffer.allocUnsafeSlow(2 * this.data.length + count);
      this.data.copy(larger, 0, 0, at);
      this.data = larger;
    }
    return this.data;
  }
}

/** A UTF-16 unit is at most three bytes of UTF-8. */
const MOST_BYTES_A_UNIT = 3;
