import {
  type DecodedResponses,
  type DiagnosticTransport,
  decodeResponses,
  type ServiceResponse,
} from '@tallybay/decode';

export const SERVICES = [
  '01',
  '02',
  '03',
  '04',
  '07',
  '09',
  '0A',
  '19',
] as const satisfies readonly ServiceResponse['service'][];
export type ServiceId = (typeof SERVICES)[number];

/** A positive response repeats the asked service with this added (ISO 14229-1, SAE J1979). */
const RESPONSE_OFFSET = 0x40;
const BYTE = /^(0x)?[0-9a-f]{2}$/i;

/** `03`, `3`, `0a` or `$0A` as the service's id; null when it is none that is read here. */
export function serviceId(text: string): ServiceId | null {
  const digits = text
    .replace(/^(\$|0x)/i, '')
    .toUpperCase()
    .padStart(2, '0');
  return SERVICES.find((service) => service === digits) ?? null;
}

/** First byte of a positive response, two hex digits. */
export const responseByte = (service: ServiceId): string =>
  (Number.parseInt(service, 16) + RESPONSE_OFFSET).toString(16).toUpperCase();

/**
 * Decodes what was typed: bytes one by one make one response; longer pieces are one response or frame each. A single
 * response may leave out its service byte, as data sheets print it.
 */
export function decodeTyped(
  words: readonly string[],
  service: ServiceId,
  transport: DiagnosticTransport | null,
): DecodedResponses {
  const texts = words.every((word) => BYTE.test(word)) ? [words.join(' ')] : [...words];
  const asTyped = decodeResponses(texts, transport);
  const responses = asTyped.responses.filter((response) => response.service === service);
  if (responses.length === 0 && texts.length === 1) {
    const completed = decodeResponses([`${responseByte(service)} ${texts[0]}`], transport);
    if (completed.problems.length === 0 && completed.responses.length > 0) return completed;
    if (asTyped.problems.length === 0 && asTyped.responses.length === 0) return completed;
  }
  return { responses, problems: asTyped.problems };
}
