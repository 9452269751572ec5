import { type Decoded, decoded, refused } from '../decode-problem.js';

/** Largest message taken from text: the longest ISO 15765-2 message with a 12-bit length is 4,095 bytes. */
export const MAX_HEX_BYTES = 65_536;

/** Bytes from hex with or without blanks, `0x` prefixes, commas, colons or dashes between them. */
export function bytesFromHex(text: string): Decoded<Uint8Array> {
  const digits = text.replace(/0x/gi, '').replace(/[\s,:-]+/g, '');
  const bad = digits.search(/[^0-9a-f]/i);
  if (bad >= 0) {
    return refused('hex_invalid', `"${digits[bad]}" is not a hexadecimal digit`, 'Send digits 0-9 and A-F only.', bad);
  }
  if (digits.length % 2 === 1) {
    return refused('hex_invalid', `${digits.length} digits do not make whole bytes`, 'Send two digits for each byte.');
  }
  if (digits.length / 2 > MAX_HEX_BYTES) {
    return refused('hex_invalid', `${digits.length / 2} bytes exceed the limit of ${MAX_HEX_BYTES}`, 'Split the text.');
  }
  const bytes = new Uint8Array(digits.length / 2);
  for (let at = 0; at < bytes.length; at++) bytes[at] = Number.parseInt(digits.slice(2 * at, 2 * at + 2), 16);
  return decoded(bytes);
}

/** Upper-case hex without blanks. */
export function hexFromBytes(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) text += byte.toString(16).toUpperCase().padStart(2, '0');
  return text;
}
