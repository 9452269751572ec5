import type { DiagnosticMessage } from './response-text.js';

/**
 * Takes header and checksum off a message of SAE J1850, ISO 9141-2 (`48 6B 10 … cs`, PWM `41 6B 10 … cs`) or
 * ISO 14230-4 (`8L F1 10 … cs`, `80 F1 10 LL … cs`). A message without a header is returned as it is.
 * Source: header layouts from memory of the standards.
 */
export function legacyMessage(bytes: Uint8Array): DiagnosticMessage {
  return keywordMessage(bytes) ?? threeByteHeader(bytes) ?? { module: null, bytes };
}

function keywordMessage(bytes: Uint8Array): DiagnosticMessage | null {
  const [format = 0, target = 0, source = 0, extra = 0] = bytes;
  if (format < 0x80 || target !== 0xf1) return null;
  const short = format & 0x3f;
  const start = short > 0 ? 3 : 4;
  const length = short > 0 ? short : extra;
  if (bytes.length < start + length) return null;
  return { module: hexByte(source), bytes: bytes.slice(start, start + length) };
}

function threeByteHeader(bytes: Uint8Array): DiagnosticMessage | null {
  const [priority = 0, target = 0, source = 0, service = 0] = bytes;
  if (target !== 0x6b || service < 0x41 || service > 0x7f || bytes.length < 5) return null;
  const last = bytes.length - 1;
  const closed = bytes[last] === crc8(bytes.subarray(0, last)) || bytes[last] === sum8(bytes.subarray(0, last));
  // `41 6B` is also service 01, PID 6B: only a matching checksum tells a PWM header from it.
  if (priority !== 0x48 && !(priority === 0x41 && closed)) return null;
  return { module: hexByte(source), bytes: bytes.slice(3, closed ? last : undefined) };
}

/** SAE J1850: polynomial 1D, start FF, inverted. */
function crc8(bytes: Uint8Array): number {
  let crc = 0xff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x80 ? ((crc << 1) ^ 0x1d) & 0xff : (crc << 1) & 0xff;
  }
  return crc ^ 0xff;
}

function sum8(bytes: Uint8Array): number {
  let sum = 0;
  for (const byte of bytes) sum = (sum + byte) & 0xff;
  return sum;
}

function hexByte(byte: number): string {
  return byte.toString(16).toUpperCase().padStart(2, '0');
}
