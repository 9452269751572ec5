import { type Decoded, decoded, refused } from '../decode-problem.js';
import { hexFromBytes } from './hex.js';
import type { DiagnosticMessage } from './response-text.js';
import { decodeSupportedPids } from './supported-pids.js';

/** Service 09. Text items are trimmed of fill; other info types stay raw. */
export interface VehicleInfo {
  infoType: string;
  kind: 'supported' | 'vin' | 'calibration-ids' | 'calibration-numbers' | 'module-name' | 'raw';
  items: string[];
  raw: string;
}

/** Length of one item by info type (SAE J1979, from memory except the VIN, read in a published test trace). */
const ITEM_BYTES: Readonly<Record<number, { kind: VehicleInfo['kind']; bytes: number; text: boolean }>> = {
  2: { kind: 'vin', bytes: 17, text: true },
  4: { kind: 'calibration-ids', bytes: 16, text: true },
  6: { kind: 'calibration-numbers', bytes: 4, text: false },
  10: { kind: 'module-name', bytes: 20, text: true },
};

/** Bytes after 49: info type, number of items, items. */
export function decodeVehicleInfo(body: Uint8Array): Decoded<VehicleInfo> {
  const [type, count] = body;
  if (type === undefined) return refused('response_short', 'The info type is missing', 'Send the whole response.');
  const raw = hexFromBytes(body.subarray(1));
  const infoType = type.toString(16).toUpperCase().padStart(2, '0');
  if (type === 0x00) {
    const items = decodeSupportedPids(0, body.subarray(body.length - 4));
    return body.length < 5
      ? refused('response_short', `A bitmap has ${body.length - 1} bytes, its layout 4`, 'Send the whole response.')
      : decoded({ infoType, kind: 'supported', items, raw });
  }
  const layout = ITEM_BYTES[type];
  if (!layout) return decoded({ infoType, kind: 'raw', items: [], raw });
  const needed = (count ?? 0) * layout.bytes;
  if (count === undefined || body.length - 2 < needed) {
    const detail = `Info type ${infoType} has ${Math.max(0, body.length - 2)} bytes, ${needed} are due`;
    return refused('response_short', detail, 'Send every frame of the response.');
  }
  const items: string[] = [];
  for (let at = 2; at < 2 + needed; at += layout.bytes) {
    const item = body.subarray(at, at + layout.bytes);
    items.push(layout.text ? textOf(item) : hexFromBytes(item));
  }
  return decoded({ infoType, kind: layout.kind, items, raw });
}

function textOf(bytes: Uint8Array): string {
  let text = '';
  for (const byte of bytes) if (byte >= 0x20 && byte < 0x7f) text += String.fromCharCode(byte);
  return text.trim();
}

const LEGACY_BYTES = 7;

/**
 * Older buses send the VIN as five messages `49 02 NN` with four bytes each, NN = 1 … 5, filled in front with 00.
 * They are joined, per sender, to the one message that CAN would have sent. Other messages pass unchanged.
 */
export function joinLegacyInfo(messages: DiagnosticMessage[]): DiagnosticMessage[] {
  const joined: DiagnosticMessage[] = [];
  const parts = new Map<string, { module: string | null; data: number[]; next: number }>();
  for (const message of messages) {
    const { module, bytes } = message;
    const [service, type = 0, ordinal = 0] = bytes;
    if (service !== 0x49 || bytes.length !== LEGACY_BYTES || type !== 0x02) {
      joined.push(message);
      continue;
    }
    const key = module ?? '';
    const part = ordinal === 1 ? { module, data: [], next: 1 } : parts.get(key);
    if (!part || part.next !== ordinal) {
      joined.push(message); // out of order: read as it is, which says what is missing
      continue;
    }
    part.data.push(...bytes.subarray(3));
    part.next++;
    parts.set(key, part);
    if (ordinal === 5) {
      parts.delete(key);
      joined.push({ module, bytes: Uint8Array.from([0x49, 0x02, 0x01, ...part.data.slice(-17)]) });
    }
  }
  for (const { module, data } of parts.values())
    joined.push({ module, bytes: Uint8Array.from([0x49, 0x02, 0x01, ...data]) });
  return joined;
}
