/**
 * Everything that can be wrong with diagnostic bytes, as one closed list. Decoders return these, they do not throw.
 */
export const DECODE_PROBLEMS = {
  hex_invalid: 'The text is not a sequence of hexadecimal bytes',
  response_empty: 'The response holds no bytes',
  response_short: 'The response ends before all its values',
  response_long: 'The response holds more bytes than its layout',
  response_refused: 'The control module refused the request',
  response_absent: 'The control module did not answer',
  service_unknown: 'The service of the response is not one that is read here',
  transport_ambiguous: 'The bytes read differently on different transports',
  code_count: 'The number of trouble codes does not fit the bytes',
  frame_invalid: 'The frame does not have the layout of its transport',
  frame_order: 'A frame of a longer message is missing or out of order',
  frame_incomplete: 'A longer message ended before all its frames had come',
  value_not_encodable: 'The value cannot be written in the raw range',
  pid_unknown: 'The parameter is not in the table',
  vin_malformed: 'The vehicle identification number is not well formed',
  tyre_malformed: 'The tyre marking cannot be read',
  ratio_invalid: 'The ratio must be a positive number',
  dbc_malformed: 'A line of the signal description cannot be read',
} as const;

export type DecodeProblemCode = keyof typeof DECODE_PROBLEMS;

export interface DecodeProblem {
  code: DecodeProblemCode;
  /** The offending value, where, and the limit. */
  detail: string;
  /** What to do about it. */
  advice: string;
  /** Byte, line or item the problem is at, counted from 0, where known. */
  at?: number;
}

export type Decoded<T> = { ok: true; value: T } | { ok: false; problem: DecodeProblem };

export function decoded<T>(value: T): Decoded<T> {
  return { ok: true, value };
}

/** Never throws; `at` counts from 0. */
export function refused(
  code: DecodeProblemCode,
  detail: string,
  advice: string,
  at?: number,
): { ok: false; problem: DecodeProblem } {
  return { ok: false, problem: at === undefined ? { code, detail, advice } : { code, detail, advice, at } };
}
