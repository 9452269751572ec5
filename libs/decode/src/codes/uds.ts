import { type Decoded, decoded, refused } from '../decode-problem.js';
import { isFill } from '../obd/fill.js';
import { troubleCodeFromBytes } from './trouble-code.js';

/** Bits 0..7 of the status byte, ISO 14229-1 (names read in public maker pages). */
export const UDS_STATUS_BITS = [
  'testFailed',
  'testFailedThisOperationCycle',
  'pendingDTC',
  'confirmedDTC',
  'testNotCompletedSinceLastClear',
  'testFailedSinceLastClear',
  'testNotCompletedThisOperationCycle',
  'warningIndicatorRequested',
] as const;

export type UdsStatus = (typeof UDS_STATUS_BITS)[number];

/** Failure type byte, SAE J2012DA (00 to 4B read in a public list, 62 to 87 partly from memory). */
export const FAILURE_TYPES: Readonly<Record<string, string>> = {
  '00': 'no further detail',
  '01': 'general electrical failure',
  '02': 'general signal failure',
  '11': 'circuit short to ground',
  '12': 'circuit short to battery',
  '13': 'circuit open',
  '14': 'circuit short to ground or open',
  '15': 'circuit short to battery or open',
  '16': 'circuit voltage below threshold',
  '17': 'circuit voltage above threshold',
  '18': 'circuit current below threshold',
  '19': 'circuit current above threshold',
  '1A': 'circuit resistance below threshold',
  '1B': 'circuit resistance above threshold',
  '1C': 'circuit voltage out of range',
  '1D': 'circuit current out of range',
  '1E': 'circuit resistance out of range',
  '1F': 'circuit intermittent',
  '29': 'signal invalid',
  '4B': 'over temperature',
  '62': 'signal compare failure',
  '64': 'signal implausible',
  '71': 'actuator stuck',
  '73': 'actuator stuck closed',
  '87': 'missing message',
};

export interface UdsCode {
  code: string;
  /** Two hexadecimal digits. */
  ftb: string;
  failureType: string | null;
  status: UdsStatus[];
}

/** One record: code high, code low, failure type, status. Source: ISO 14229-1 service 19, ISO 15031-6. */
export function decodeUdsCode(bytes: Uint8Array): Decoded<UdsCode> {
  if (bytes.length !== 4) {
    const code = bytes.length < 4 ? 'response_short' : 'response_long';
    return refused(code, `A record has ${bytes.length} bytes, its layout 4`, 'Send code, failure type and status.');
  }
  const [high, low, type, status] = bytes as unknown as [number, number, number, number];
  const ftb = type.toString(16).toUpperCase().padStart(2, '0');
  return decoded({
    code: troubleCodeFromBytes(high, low),
    ftb,
    failureType: FAILURE_TYPES[ftb] ?? null,
    status: UDS_STATUS_BITS.filter((_, bit) => ((status >> bit) & 1) === 1),
  });
}

/**
 * Records after `59 02 mask`; a rest that is no whole record is refused unless it is filler. A record of code 0000 with
 * failure type 00 is padding, as in the two-byte lists.
 */
export function decodeUdsCodeList(bytes: Uint8Array): Decoded<UdsCode[]> {
  const whole = bytes.length - (bytes.length % 4);
  if (!isFill(bytes.subarray(whole))) {
    return refused(
      'code_count',
      `${bytes.length} bytes are not whole records of 4`,
      'Send all frames of the response.',
    );
  }
  const codes: UdsCode[] = [];
  for (let at = 0; at < whole; at += 4) {
    const record = bytes.subarray(at, at + 4);
    if (record.subarray(0, 3).every((byte) => byte === 0)) continue;
    const code = decodeUdsCode(record);
    if (!code.ok) return code;
    codes.push(code.value);
  }
  return decoded(codes);
}
