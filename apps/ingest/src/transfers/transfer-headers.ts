import type { IncomingHttpHeaders } from 'node:http';
import { TallybayError, TRANSFER_HEADERS } from '@tallybay/contracts';

/**
 * What the request that opens a transfer says about the bytes to come: their SHA-256 (`Repr-Digest: sha-256=:…:`, RFC 9530)
 * and how many they are (`Upload-Length`).
 * @throws TallybayError `parameter_invalid` naming the header
 */
export function announcedBytes(headers: IncomingHttpHeaders): { sha256: string; length: number } {
  const length = wholeNumber(headers, TRANSFER_HEADERS.length);
  if (length < 1) throw invalid(TRANSFER_HEADERS.length, String(length), 'a whole number of at least 1');
  const written = textOf(headers, TRANSFER_HEADERS.digest);
  const member = /(?:^|,)\s*sha-256=:([A-Za-z0-9+/]{43}=):/.exec(written);
  if (!member) throw invalid(TRANSFER_HEADERS.digest, written, 'sha-256=:BASE64:, the digest of all bytes');
  return { sha256: Buffer.from(member[1]!, 'base64').toString('hex'), length };
}

/** Where a PATCH begins, and whether it brings the last bytes. @throws TallybayError `parameter_invalid` naming the header */
export function announcedPiece(headers: IncomingHttpHeaders): { offset: number; complete: boolean } {
  const offset = wholeNumber(headers, TRANSFER_HEADERS.offset);
  const complete = textOf(headers, TRANSFER_HEADERS.complete) || '?0';
  if (complete !== '?0' && complete !== '?1') throw invalid(TRANSFER_HEADERS.complete, complete, '?1 or ?0');
  return { offset, complete: complete === '?1' };
}

function wholeNumber(headers: IncomingHttpHeaders, name: string): number {
  const text = textOf(headers, name);
  // Integers of structured fields have at most 15 digits (RFC 9651, section 3.3.1), which are exact in a double.
  if (!/^\d{1,15}$/.test(text)) throw invalid(name, text, 'a whole number of bytes');
  return Number(text);
}

function textOf(headers: IncomingHttpHeaders, name: string): string {
  const value = headers[name];
  return (Array.isArray(value) ? value.join(', ') : (value ?? '')).trim();
}

const invalid = (name: string, value: string, expected: string): TallybayError =>
  new TallybayError('parameter_invalid', `The header ${name} is "${value}"; expected ${expected}`, {
    advice: 'See /openapi.json for the headers of a transfer.',
    place: { field: name },
  });
