/** A growing byte buffer with the little-endian and varint writes that Parquet needs. */
export class ByteBuffer {
  bytes: Uint8Array;
  length = 0;
  private view: DataView;

  constructor(capacity = 1024) {
    this.bytes = new Uint8Array(capacity);
    this.view = new DataView(this.bytes.buffer);
  }

  /** Makes room for `count` more bytes and returns the offset where they start. */
  reserve(count: number): number {
    const needed = this.length + count;
    if (needed > this.bytes.length) {
      const grown = new Uint8Array(Math.max(needed, this.bytes.length * 2));
      grown.set(this.bytes.subarray(0, this.length));
      this.bytes = grown;
      this.view = new DataView(grown.buffer);
    }
    const at = this.length;
    this.length = needed;
    return at;
  }

  u8(value: number): void {
    const at = this.reserve(1);
    this.bytes[at] = value;
  }

  u32(value: number): void {
    const at = this.reserve(4);
    this.view.setUint32(at, value, true);
  }

  f32(value: number): void {
    const at = this.reserve(4);
    this.view.setFloat32(at, value, true);
  }

  f64(value: number): void {
    const at = this.reserve(8);
    this.view.setFloat64(at, value, true);
  }

  /** @param value an integer, exact in a double */
  i64(value: number): void {
    const at = this.reserve(8);
    // Two halves, since a BigInt would be an object a value; the low one wraps as two's complement asks.
    this.view.setInt32(at, value, true);
    this.view.setInt32(at + 4, Math.floor(value / 0x1_0000_0000), true);
  }

  /** ULEB128 of a non-negative integer below 2^53. */
  varint(value: number): void {
    let rest = value;
    while (rest >= 0x80) {
      // 2^31 and more do not survive the bit operators, so the low seven bits come from arithmetic.
      this.u8((rest % 128) | 0x80);
      rest = Math.floor(rest / 128);
    }
    this.u8(rest);
  }

  zigzag(value: number): void {
    if (Math.abs(value) < 2 ** 52) this.varint(value >= 0 ? value * 2 : -value * 2 - 1);
    else throw new RangeError(`zigzag: ${value} is beyond 2^52`);
  }

  append(bytes: Uint8Array): void {
    const at = this.reserve(bytes.length);
    this.bytes.set(bytes, at);
  }

  view8(): Uint8Array {
    return this.bytes.subarray(0, this.length);
  }

  clear(): void {
    this.length = 0;
  }
}
