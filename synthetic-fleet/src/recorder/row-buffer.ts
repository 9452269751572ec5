const POWERS = [1, 10, 100, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8];
const ZERO = 48;
const MINUS = 45;
const CAPACITY_BYTES = 192 * 1024;

/**
 * Collects text as bytes. Everything in the rows of a log is ASCII; headers and other texts are written by `text` in the
 * log's encoding. UTF-16LE widens every byte when a chunk is taken.
 */
export class RowBuffer {
  #bytes: Uint8Array;
  #length = 0;

  #mark: Uint8Array | null;
  readonly decimalCode: number;

  constructor(readonly format: { encoding: 'utf-8' | 'latin1' | 'utf-16le'; bom: boolean; decimal: '.' | ',' }) {
    this.#bytes = new Uint8Array(CAPACITY_BYTES);
    this.#mark = format.bom ? Uint8Array.from(format.encoding === 'utf-8' ? [0xef, 0xbb, 0xbf] : [0xff, 0xfe]) : null;
    this.decimalCode = format.decimal.charCodeAt(0);
  }

  get length(): number {
    return this.#length;
  }

  byte(code: number): void {
    if (this.#length + 32 > this.#bytes.length) this.#grow(32);
    this.#bytes[this.#length++] = code;
  }

  /** Text of any kind, in the log's encoding. UTF-16 text must be ASCII or Latin-1 (it is widened later). */
  text(text: string): void {
    const bytes = Buffer.from(text, this.format.encoding === 'utf-8' ? 'utf8' : 'latin1');
    if (this.#length + bytes.length + 32 > this.#bytes.length) this.#grow(bytes.length + 32);
    this.#bytes.set(bytes, this.#length);
    this.#length += bytes.length;
  }

  /** A number with exactly `decimals` decimals (0..8), rounded half away from zero. */
  fixed(value: number, decimals: number): void {
    if (this.#length + 40 > this.#bytes.length) this.#grow(40);
    const scaled = Math.round(Math.abs(value) * (POWERS[decimals] as number) + 1e-7);
    if (value < 0 && scaled > 0) this.#bytes[this.#length++] = MINUS;
    let digits = 1;
    for (let limit = 10; limit <= scaled; limit *= 10) digits += 1;
    if (digits <= decimals) digits = decimals + 1;
    const end = this.#length + digits + (decimals > 0 ? 1 : 0);
    let rest = scaled;
    for (let at = end - 1, left = decimals; at >= this.#length; at -= 1) {
      if (decimals > 0 && left === 0) {
        this.#bytes[at] = this.decimalCode;
        left = -1;
        continue;
      }
      left -= left > 0 ? 1 : 0;
      const next = Math.floor(rest / 10);
      this.#bytes[at] = ZERO + (rest - next * 10);
      rest = next;
    }
    this.#length = end;
  }

  /** Non-negative integer padded with zeros to `width`. */
  padded(value: number, width: number): void {
    if (this.#length + 32 > this.#bytes.length) this.#grow(32);
    let rest = value;
    for (let at = this.#length + width - 1; at >= this.#length; at -= 1) {
      const next = Math.floor(rest / 10);
      this.#bytes[at] = ZERO + (rest - next * 10);
      rest = next;
    }
    this.#length += width;
  }

  /** Drops the last `count` bytes: a log that ends in the middle of a row. */
  cut(count: number): void {
    this.#length = Math.max(0, this.#length - count);
  }

  /** What was collected so far, in the log's encoding; the buffer is empty afterwards. */
  take(): Uint8Array {
    const bytes = this.#bytes.slice(0, this.#length);
    this.#length = 0;
    const encoded = this.format.encoding === 'utf-16le' ? widen(bytes) : bytes;
    if (!this.#mark) return encoded;
    const marked = new Uint8Array(this.#mark.length + encoded.length);
    marked.set(this.#mark);
    marked.set(encoded, this.#mark.length);
    this.#mark = null;
    return marked;
  }

  #grow(extra: number): void {
    const bigger = new Uint8Array(this.#bytes.length * 2 + extra);
    bigger.set(this.#bytes);
    this.#bytes = bigger;
  }
}

function widen(bytes: Uint8Array): Uint8Array {
  const wide = new Uint8Array(bytes.length * 2);
  for (let i = 0; i < bytes.length; i += 1) wide[2 * i] = bytes[i] as number;
  return wide;
}
