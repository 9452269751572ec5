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
const [SPACE, HASH, DOT, OPEN, CLOSE, ZERO, NINE, R] = [0x20, 0x23, 0x2e, 0x28, 0x29, 0x30, 0x39, 0x52];
const ERROR_FLAG = 0x2000_0000;
const EXTENDED_MAX = 0x1fff_ffff;
const STANDARD_MAX = 0x7ff;

/**
 * Reads lines of the `candump -l` form: `(seconds.micros) channel ID#DATA`, ID three digits (11-bit) or eight (29-bit),
 * `#R` a remote request, `##F` CAN FD; a trailing direction mark R or T is allowed. Returns null for anything else:
 * a half-written line is no frame.
 */
export function createLineParser(): (bytes: Uint8Array, start: number, end: number) => CanFrame | null {
  const buffer = new Uint8Array(64);
  const views = Array.from({ length: 65 }, (_, length) => buffer.subarray(0, length));
  const frame: CanFrame = { timeMs: 0, channel: '', id: 0, extended: false, kind: 'data', data: buffer };
  let at = 0;
  let channelBytes = new Uint8Array(0);

  const seconds = (bytes: Uint8Array, end: number): number => {
    const from = at;
    let value = 0;
    while (at < end && isDigit(bytes[at])) value = value * 10 + (bytes[at++] ?? 0) - ZERO;
    return at > from && at - from <= 12 ? value : Number.NaN;
  };

  const time = (bytes: Uint8Array, end: number): boolean => {
    if (bytes[at++] !== OPEN) return false;
    const whole = seconds(bytes, end);
    if (bytes[at++] !== DOT) return false;
    const from = at;
    const fraction = seconds(bytes, end);
    if (bytes[at] !== CLOSE) return false;
    frame.timeMs = whole * 1000 + (fraction / 10 ** (at - from)) * 1000;
    at++;
    return Number.isFinite(frame.timeMs);
  };

  const channel = (bytes: Uint8Array, end: number): boolean => {
    if (!skipSpace(bytes, end)) return false;
    const from = at;
    while (at < end && bytes[at] !== SPACE) at++;
    const length = at - from;
    if (length === 0 || length > 32) return false;
    if (!sameBytes(channelBytes, bytes, from, length)) {
      channelBytes = bytes.slice(from, at);
      frame.channel = String.fromCharCode(...channelBytes);
      if (!/^[\x21-\x7e]+$/.test(frame.channel)) {
        channelBytes = new Uint8Array(0);
        return false;
      }
    }
    return skipSpace(bytes, end);
  };

  const skipSpace = (bytes: Uint8Array, end: number): boolean => {
    const from = at;
    while (at < end && bytes[at] === SPACE) at++;
    return at > from;
  };

  const identifier = (bytes: Uint8Array, end: number): boolean => {
    const from = at;
    let id = 0;
    while (at < end && at - from < 9) {
      const digit = HEX[bytes[at] ?? 0] ?? -1;
      if (digit < 0) break;
      id = id * 16 + digit;
      at++;
    }
    const digits = at - from;
    if (bytes[at++] !== HASH || (digits !== 3 && digits !== 8)) return false;
    frame.extended = digits === 8;
    frame.kind = frame.extended && id >= ERROR_FLAG ? 'error' : 'data';
    frame.id = frame.kind === 'error' ? id % ERROR_FLAG : id;
    return frame.kind === 'error' || id <= (frame.extended ? EXTENDED_MAX : STANDARD_MAX);
  };

  const payload = (bytes: Uint8Array, end: number): boolean => {
    let limit = 8;
    let length = 0;
    if (bytes[at] === R) {
      frame.kind = 'remote';
      at++;
      if (isDigit(bytes[at])) at++;
    } else if (bytes[at] === HASH) {
      limit = 64;
      at += 2; // the flags digit
    }
    while (at < end && frame.kind !== 'remote') {
      if (bytes[at] === DOT) at++;
      const high = HEX[bytes[at] ?? 0] ?? -1;
      if (high < 0 || at >= end) break;
      const low = at + 1 < end ? (HEX[bytes[at + 1] ?? 0] ?? -1) : -1;
      if (low < 0 || length === limit) return false;
      buffer[length++] = high * 16 + low;
      at += 2;
    }
    frame.data = views[length] ?? buffer;
    return true;
  };

  const tail = (bytes: Uint8Array, end: number): boolean => {
    if (skipSpace(bytes, end) && (bytes[at] === R || bytes[at] === 0x54)) at++;
    while (at < end && bytes[at] === SPACE) at++;
    return at >= end;
  };

  return (bytes, start, end) => {
    at = start;
    const whole =
      time(bytes, end) && channel(bytes, end) && identifier(bytes, end) && payload(bytes, end) && tail(bytes, end);
    return whole ? frame : null;
  };
}

function isDigit(byte: number | undefined): boolean {
  return byte !== undefined && byte >= ZERO && byte <= NINE;
}

function sameBytes(known: Uint8Array, bytes: Uint8Array, from: number, length: number): boolean {
  if (known.length !== length) return false;
  for (let index = 0; index < length; index++) if (known[index] !== bytes[from + index]) return false;
  return true;
}
