import { type Decoded, decoded, refused } from '../decode-problem.js';

const LETTERS = ['P', 'C', 'B', 'U'] as const;

/**
 * Two bytes to a code: bits 15-14 letter, 13-12 first digit, then three hexadecimal digits.
 * Source: SAE J2012 / ISO 15031-6, layout read in public reprints. 0000 is padding, not a code: the caller drops it.
 */
export function troubleCodeFromBytes(high: number, low: number): string {
  const letter = LETTERS[(high >> 6) & 3] ?? 'P';
  const digits = (((high & 0x3f) << 8) | (low & 0xff)).toString(16).toUpperCase().padStart(4, '0');
  return letter + digits;
}

/** The two bytes of a code such as `P0217`. */
export function bytesFromTroubleCode(code: string): Decoded<Uint8Array> {
  const match = /^([PCBU])([0-3][0-9A-F]{3})$/i.exec(code.trim());
  if (!match) {
    return refused(
      'value_not_encodable',
      `"${code}" is not a trouble code`,
      'A code is P, C, B or U, a digit 0 to 3 and three hexadecimal digits, for example P0217.',
    );
  }
  const [, letter = 'P', digits = '0000'] = match;
  const word = (LETTERS.indexOf(letter.toUpperCase() as 'P') << 14) | Number.parseInt(digits, 16);
  return decoded(Uint8Array.of(word >> 8, word & 0xff));
}

/** The code of a byte pair, or null for the padding 0000. */
export function troubleCodeOrNull(high: number, low: number): string | null {
  return high === 0 && low === 0 ? null : troubleCodeFromBytes(high, low);
}
