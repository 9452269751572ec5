/**
 * Numbers as recorders write them, straight from bytes. The mantissa is gathered as an integer and divided once by a power
 * of ten: both are exact doubles up to 2^53 and 10^22, so the quotient is correctly rounded and equals `Number(text)`.
 */
export const POWERS_OF_TEN = Float64Array.from({ length: 23 }, (_, power) => Number(`1e${power}`));

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d+)?$/i;
const DOT = 46;
const SPACE = 32;
const TAB = 9;

/** Reads bytes [start, end) as a number; NaN when they are none or not finite. `comma` allows a decimal comma. */
export function numberFromBytes(bytes: Uint8Array, start: number, end: number, comma: boolean): number {
  let from = start;
  let to = end;
  while (from < to && isBlankByte(bytes[from] as number)) from++;
  while (to > from && isBlankByte(bytes[to - 1] as number)) to--;
  let at = from;
  const sign = bytes[at];
  if (sign === 45 || sign === 43) at++;
  let mantissa = 0;
  let digits = 0;
  let fraction = -1;
  for (; at < to; at++) {
    const byte = bytes[at] as number;
    if (byte >= 48 && byte <= 57) {
      mantissa = mantissa * 10 + (byte - 48);
      digits++;
      if (fraction >= 0) fraction++;
    } else if ((byte === DOT || (comma && byte === 44)) && fraction < 0) fraction = 0;
    else return exponentNumber(bytes, from, to, comma);
  }
  if (digits === 0) return Number.NaN;
  if (mantissa > Number.MAX_SAFE_INTEGER || fraction > 22) return exponentNumber(bytes, from, to, comma);
  const value = fraction > 0 ? mantissa / (POWERS_OF_TEN[fraction] as number) : mantissa;
  return sign === 45 ? -value : value;
}

/** Exponents and more digits than a double holds: rare, so by text. */
function exponentNumber(bytes: Uint8Array, from: number, to: number, comma: boolean): number {
  if (to - from > 64) return Number.NaN;
  let text = '';
  for (let at = from; at < to; at++) text += String.fromCharCode(bytes[at] as number);
  if (comma) text = text.replace(',', '.');
  if (!NUMBER.test(text)) return Number.NaN;
  const value = Number(text);
  return Number.isFinite(value) ? value : Number.NaN;
}

export function isBlankByte(byte: number): boolean {
  return byte === SPACE || byte === TAB || byte === 0xa0;
}

/**
 * What recorders write for "no value", lower case. Anything else that is no finite number counts as `unreadable`;
 * that includes `inf` and numbers too large for a double. Trade usage, no source.
 */
export const BLANK_TOKENS: ReadonlySet<string> = new Set([
  '',
  '-',
  '--',
  '---',
  '----',
  '.',
  '?',
  'nan',
  '-nan',
  'n/a',
  '#n/a',
  'na',
  'n.a.',
  'null',
  '(null)',
  'nil',
  'none',
  'no data',
  'nodata',
  'not available',
  'unavailable',
  'n/v',
  'n.v.',
  'nv',
  'k.a.',
  'k. a.',
  's/d',
  'n/d',
  'nd',
  'sin datos',
]);

/** Whether the cell bytes [start, end) are one of BLANK_TOKENS. */
export function isBlankCell(bytes: Uint8Array, start: number, end: number): boolean {
  let from = start;
  let to = end;
  while (from < to && isBlankByte(bytes[from] as number)) from++;
  while (to > from && isBlankByte(bytes[to - 1] as number)) to--;
  if (to - from > 16) return false;
  let text = '';
  for (let at = from; at < to; at++) text += String.fromCharCode(bytes[at] as number);
  return BLANK_TOKENS.has(text.toLowerCase());
}
