/** Longest line that is looked at; a CAN FD frame with 64 bytes needs under 200. */
export const MAX_LINE_BYTES = 1_024;

/** One line of a capture; the object is reused, copy what must outlive the next line. */
export interface CanFrame {
  timeMs: number;
  channel: string;
  id: number;
  /** 29-bit identifier. */
  extended: boolean;
  /** Remote requests and error frames carry no signals. */
  kind: 'data' | 'remote' | 'error';
  data: Uint8Array;
}

const HEX = new Int8Array(256).fill(-1);
for (let digit = 0; digit < 16; digit++) {
  HEX[digit.toString(16).charCodeAt(0)] = digit;
  HEX[digit.toString(16).toUpperCase().charCodeAt(0)] = digit;
}
const [SPACE, HASH, DOT, OPEN, CLOSE, ZERO, NINE, R, T] = [0x20, 0x23, 0x2e, 0x28, 0x29, 0x30, 0x39, 0x52, 0x54];
const ERROR_FLAG = 0x2000_0000;
const EXTENDED_MAX = 0x1fff_ffff;
const STANDARD_MAX = 0x7ff;

/**
 * Reads lines of the `candump -l` form: `(seconds.micros) channel ID#DATA`, ID three digits (11-bit) or eight (29-bit),
 * `#R` a remote request, `##F` CAN FD; a trailing direction mark R or T is allowed. Anything else gives null: a
 * half-written line is no frame.
 */
export class CandumpLineParser {
  private readonly buffer = new Uint8Array(64);
  private readonly views = Array.from({ length: 65 }, (_, length) => this.buffer.subarray(0, length));
  private readonly frame: CanFrame = {
    timeMs: 0,
    channel: '',
    id: 0,
    extended: false,
    kind: 'data',
    data: this.buffer,
  };
  private channelBytes = new Uint8Array(0);
  private bytes = new Uint8Array(0);
  private at = 0;
  private end = 0;

  /** The line without its line break; the frame is overwritten by the next one. */
  parse(bytes: Uint8Array, start: number, end: number): CanFrame | null {
    this.bytes = bytes as Uint8Array<ArrayBuffer>;
    this.at = start;
    this.end = end;
    const whole = this.time() && this.channel() && this.identifier() && this.payload() && this.tail();
    return whole ? this.frame : null;
  }

  private time(): boolean {
    if (this.bytes[this.at++] !== OPEN) return false;
    const whole = this.digits();
    if (this.bytes[this.at++] !== DOT) return false;
    const from = this.at;
    const fraction = this.digits();
    if (this.bytes[this.at] !== CLOSE) return false;
    this.frame.timeMs = whole * 1000 + (fraction / 10 ** (this.at - from)) * 1000;
    this.at++;
    return Number.isFinite(this.frame.timeMs);
  }

  /** NaN without a digit, or with more than an instant has. */
  private digits(): number {
    const from = this.at;
    let value = 0;
    while (this.at < this.end && isDigit(this.bytes[this.at])) value = value * 10 + (this.bytes[this.at++] ?? 0) - ZERO;
    return this.at > from && this.at - from <= 12 ? value : Number.NaN;
  }

  private channel(): boolean {
    if (!this.skipSpace()) return false;
    const from = this.at;
    while (this.at < this.end && this.bytes[this.at] !== SPACE) this.at++;
    const length = this.at - from;
    if (length === 0 || length > 32) return false;
    if (!sameBytes(this.channelBytes, this.bytes, from, length)) {
      const name = this.bytes.slice(from, this.at);
      if (!name.every((byte) => byte > SPACE && byte < 0x7f)) return false;
      this.channelBytes = name;
      this.frame.channel = String.fromCharCode(...name);
    }
    return this.skipSpace();
  }

  private skipSpace(): boolean {
    const from = this.at;
    while (this.at < this.end && this.bytes[this.at] === SPACE) this.at++;
    return this.at > from;
  }

  private identifier(): boolean {
    const { frame } = this;
    const from = this.at;
    let id = 0;
    while (this.at < this.end && this.at - from < 9) {
      const digit = this.hexAt(this.at);
      if (digit < 0) break;
      id = id * 16 + digit;
      this.at++;
    }
    const digits = this.at - from;
    if (this.at >= this.end || this.bytes[this.at++] !== HASH || (digits !== 3 && digits !== 8)) return false;
    frame.extended = digits === 8;
    frame.kind = frame.extended && id >= ERROR_FLAG ? 'error' : 'data';
    frame.id = frame.kind === 'error' ? id % ERROR_FLAG : id;
    return frame.kind === 'error' || id <= (frame.extended ? EXTENDED_MAX : STANDARD_MAX);
  }

  private payload(): boolean {
    if (this.at < this.end && this.bytes[this.at] === R) {
      this.frame.kind = 'remote';
      this.frame.data = this.views[0] as Uint8Array;
      this.at++;
      if (isDigit(this.bytes[this.at])) this.at++;
      return true;
    }
    const isFd = this.at < this.end && this.bytes[this.at] === HASH;
    if (isFd) this.at += 2; // the flags digit
    return this.dataBytes(isFd ? 64 : 8);
  }

  private dataBytes(limit: number): boolean {
    let length = 0;
    while (this.at < this.end) {
      if (this.bytes[this.at] === DOT) this.at++;
      const high = this.hexAt(this.at);
      if (high < 0) break;
      const low = this.hexAt(this.at + 1);
      if (low < 0 || length === limit) return false;
      this.buffer[length++] = high * 16 + low;
      this.at += 2;
    }
    this.frame.data = this.views[length] as Uint8Array;
    return true;
  }

  private hexAt(at: number): number {
    return at < this.end ? (HEX[this.bytes[at] ?? 0] ?? -1) : -1;
  }

  private tail(): boolean {
    if (this.skipSpace() && (this.bytes[this.at] === R || this.bytes[this.at] === T)) this.at++;
    while (this.at < this.end && this.bytes[this.at] === SPACE) this.at++;
    return this.at >= this.end;
  }
}

function isDigit(byte: number | undefined): boolean {
  return byte !== undefined && byte >= ZERO && byte <= NINE;
}

function sameBytes(known: Uint8Array, bytes: Uint8Array, from: number, length: number): boolean {
  if (known.length !== length) return false;
  for (let index = 0; index < length; index++) if (known[index] !== bytes[from + index]) return false;
  return true;
}
