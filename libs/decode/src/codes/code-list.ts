import { type Decoded, decoded, refused } from '../decode-problem.js';
import { isFill } from '../obd/fill.js';
import { troubleCodeOrNull } from './trouble-code.js';

/** A legacy message carries exactly three codes of two bytes, unused ones 0000. */
export const LEGACY_CODE_BYTES = 6;

/**
 * Codes of one service 03, 07 or 0A response, `bytes` after the service byte.
 * CAN (ISO 15765-4): a count, then two bytes a code. Legacy: three codes, 0000 = none.
 * `transport` null: read only if the bytes allow one reading; `43 01 33 00 00 00 00` allows two and is refused.
 * Source: SAE J1979, examples read in public reprints. Problems: `code_count`, `transport_ambiguous`.
 */
export function decodeCodeList(bytes: Uint8Array, transport: 'can' | 'legacy' | null): Decoded<string[]> {
  if (transport === 'can') return canList(bytes);
  if (transport === 'legacy') return legacyList(bytes);
  const can = canList(bytes);
  const legacy = legacyList(bytes);
  if (can.ok && legacy.ok && can.value.join() !== legacy.value.join()) {
    return refused(
      'transport_ambiguous',
      `On CAN the bytes read ${naming(can.value)}, on older buses ${naming(legacy.value)}`,
      'Say which transport the response came from: can, or legacy.',
    );
  }
  return can.ok ? can : legacy;
}

function naming(codes: string[]): string {
  return codes.length === 0 ? 'no code' : codes.join(' ');
}

function canList(bytes: Uint8Array): Decoded<string[]> {
  const count = bytes[0];
  if (count === undefined) return refused('response_short', 'The count byte is missing', 'Send the whole response.');
  const end = 1 + 2 * count;
  if (end > bytes.length) {
    const there = Math.floor((bytes.length - 1) / 2);
    const advice = 'Send all frames of the response; if it came over an older bus, say so: transport legacy.';
    return refused('code_count', `The count byte says ${count} codes, the bytes hold ${there}`, advice, 0);
  }
  const rest = bytes.subarray(end);
  if (!isFill(rest)) {
    const advice = 'If the response came over an older bus, say so: transport legacy.';
    return refused(
      'code_count',
      `The count byte says ${count} codes, but ${rest.length} bytes follow them`,
      advice,
      end,
    );
  }
  return decoded(pairs(bytes.subarray(1, end)));
}

function legacyList(bytes: Uint8Array): Decoded<string[]> {
  if (bytes.length !== LEGACY_CODE_BYTES) {
    const detail = `A message has ${bytes.length} code bytes, on older buses it has ${LEGACY_CODE_BYTES}`;
    return refused('code_count', detail, 'If the response came over CAN, say so: transport can.');
  }
  return decoded(pairs(bytes));
}

function pairs(bytes: Uint8Array): string[] {
  const codes: string[] = [];
  for (let at = 0; at + 1 < bytes.length; at += 2) {
    const code = troubleCodeOrNull(bytes[at] ?? 0, bytes[at + 1] ?? 0);
    if (code !== null) codes.push(code);
  }
  return codes;
}
