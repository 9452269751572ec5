import { type DecodeProblem, refused } from '../decode-problem.js';
import { bytesFromHex } from './hex.js';
import { createIsoTp, type IsoTp } from './iso-tp.js';
import { legacyMessage } from './legacy-header.js';
import { NumberedLines } from './numbered-lines.js';

/** `can` = ISO 15765-4; `legacy` = SAE J1850, ISO 9141-2, ISO 14230-4. */
export type DiagnosticTransport = 'can' | 'legacy';

export interface DiagnosticMessage {
  /** CAN id or header address of the sender, e.g. `7E8`, `18DAF110`, `10`; null without a header. */
  module: string | null;
  /** From the service byte on. */
  bytes: Uint8Array;
}

export interface MessageList {
  messages: DiagnosticMessage[];
  problems: DecodeProblem[];
}

/** What an adapter prints before or instead of an answer, on a line of its own or in front of it. */
const CHATTER = /^(?:SEARCHING|BUS INIT)[\s.:]*(?:OK\b)?\s*|^(?:OK|\?)$/i;
const NO_ANSWER =
  /^<?\s*(?:NO DATA|UNABLE TO CONNECT|(?:(?:CAN|BUS|DATA|RX|FB) )?ERROR|BUS BUSY|BUFFER FULL|STOPPED|TIMEOUT)/i;

/**
 * Messages from text: one response or frame a line (or separated by `|`), with or without blanks, CAN ids, legacy
 * headers and checksums, candump notation, or numbered lines under a length line. `transport` null = CAN framing is
 * recognised where it is visible. Lines that cannot be read become problems; the others go on.
 */
export function messagesFromText(texts: readonly string[], transport: DiagnosticTransport | null): MessageList {
  const list: MessageList = { messages: [], problems: [] };
  const isoTp = createIsoTp();
  const numbered = new NumberedLines(
    (bytes) => list.messages.push({ module: null, bytes }),
    (problem) => list.problems.push(problem),
  );
  for (const text of texts.flatMap((item) => item.split(/[\r\n|]+/))) {
    const line = text
      .replace(/^[>\s]+|[>\s]+$/g, '')
      .replace(CHATTER, '')
      .trim();
    if (line !== '' && !numbered.take(line)) readLine(line, transport, isoTp, list);
  }
  numbered.end();
  list.problems.push(...isoTp.finish());
  return list;
}

function readLine(line: string, transport: DiagnosticTransport | null, isoTp: IsoTp, list: MessageList): void {
  if (NO_ANSWER.test(line)) {
    list.problems.push(refused('response_absent', `The answer was "${line.slice(0, 40)}"`, 'Ask again.').problem);
    return;
  }
  if (isCountedRequest(line)) return;
  const { id, rest } = transport === 'legacy' ? { id: null, rest: line } : splitCanId(line);
  const hex = bytesFromHex(rest);
  if (!hex.ok) {
    list.problems.push(hex.problem);
    return;
  }
  if (hex.value.length === 0) {
    list.problems.push(
      refused('response_empty', `"${line.slice(0, 40)}" holds no data bytes`, 'Leave it out.').problem,
    );
  } else if (id !== null) {
    if (!isRequestId(id)) pushFrame(id, hex.value, isoTp, list);
  } else if (!isRequest(hex.value)) {
    if (transport === 'legacy') list.messages.push(legacyMessage(hex.value));
    else readBare(hex.value, transport, isoTp, list);
  }
}

/** No CAN id: a whole message starts with a response service (41 and up), a frame with its ISO 15765-2 byte (below 40). */
function readBare(bytes: Uint8Array, transport: DiagnosticTransport | null, isoTp: IsoTp, list: MessageList): void {
  const [lead = 0, second = 0] = bytes;
  if (transport === null && lead >= 0x41 && (second === 0x6b || second === 0xf1))
    list.messages.push(legacyMessage(bytes));
  else if (lead >= 0x40) list.messages.push({ module: null, bytes });
  else pushFrame(null, bytes, isoTp, list);
}

/** Longest request of each service (SAE J1979: up to six parameters on CAN), by its first byte. */
const REQUEST_BYTES: readonly number[] = [0, 7, 7, 1, 1, 3, 7, 1, 7, 7, 1];
/** Answers of two bytes, "no codes": a frame `02 43 00` is one. */
const EMPTY_LISTS: readonly number[] = [0x43, 0x47, 0x4a];

/**
 * Whether the bytes are a request that an adapter repeated before the answer. A frame without id starts as one does, with its
 * length; but what follows there is an answer's service, 41 or more, and with 01 or 02 hardly any answer is so short.
 */
function isRequest(bytes: Uint8Array): boolean {
  const [lead = 0, second = 0] = bytes;
  if (bytes.length === 0 || bytes.length > (REQUEST_BYTES[lead] ?? 0)) return false;
  return second < 0x41 || lead === 0x01 || (lead === 0x02 && !EMPTY_LISTS.includes(second));
}

/** `010C1`, `01 0C 1`: a request with the number of answers to wait for. */
function isCountedRequest(line: string): boolean {
  const digits = line.replace(/\s+/g, '');
  if (digits.length % 2 === 0 || !/^0[129][0-9a-f]+$/i.test(digits)) return false;
  const hex = bytesFromHex(digits.slice(0, -1));
  return hex.ok && isRequest(hex.value);
}

function pushFrame(id: string | null, data: Uint8Array, isoTp: IsoTp, list: MessageList): void {
  const { message, problem } = isoTp.push(id ?? 'frame without id', data);
  if (problem) list.problems.push(problem);
  if (message) list.messages.push({ module: id, bytes: message });
}

/** Takes an 11-bit (`7E8`, `7E8#…`) or 29-bit id (`18DAF110`, `18 DA F1 10`) off the front. */
function splitCanId(line: string): { id: string | null; rest: string } {
  const frame = line.replace(/^\([\d.]+\)\s+\S+\s+/, '');
  const marked = /^([0-9a-f]{3}|[0-9a-f]{8})\s*(?:#|\s)\s*(.*)$/i.exec(frame);
  if (marked) return { id: (marked[1] ?? '').toUpperCase(), rest: marked[2] ?? '' };
  const digits = frame.replace(/\s+/g, '');
  if (/^18D[AB][0-9a-f]{4}/i.test(digits)) return { id: digits.slice(0, 8).toUpperCase(), rest: digits.slice(8) };
  if (digits.length % 2 === 1 && /^7[0-9a-f]{2}/i.test(digits)) {
    return { id: digits.slice(0, 3).toUpperCase(), rest: digits.slice(3) };
  }
  return { id: null, rest: frame };
}

/** Ids on which the tester asks (ISO 15765-4): 7DF, 7E0 to 7E7, 18DB33F1, 18DAxxF1. */
export function isRequestId(id: string): boolean {
  return /^(7DF|7E[0-7]|18DB33F1|18DA[0-9A-F]{2}F1)$/.test(id) && id !== '18DAF1F1';
}
