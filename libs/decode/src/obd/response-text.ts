import type { DecodeProblem } from '../decode-problem.js';
import { refused } from '../decode-problem.js';
import { bytesFromHex } from './hex.js';
import { createIsoTp, type IsoTp } from './iso-tp.js';
import { legacyMessage } from './legacy-header.js';

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

/** Lines an adapter prints that are not answers. */
const CHATTER = /^(>|SEARCHING\.*|BUS INIT.*|OK|\?)?$/i;
const NO_ANSWER = /^(NO DATA|UNABLE TO CONNECT|CAN ERROR|BUS ERROR|STOPPED|TIMEOUT)/i;

/**
 * Messages from text: one response or frame a line (or separated by `|`), with or without blanks, CAN ids, legacy
 * headers and checksums, candump notation, or numbered lines under a length line. `transport` null = CAN framing is
 * recognised where it is visible. Lines that cannot be read become problems; the others go on.
 */
export function messagesFromText(texts: readonly string[], transport: DiagnosticTransport | null): MessageList {
  const list: MessageList = { messages: [], problems: [] };
  const isoTp = createIsoTp();
  for (const text of texts) {
    const lines = text.split(/[\r\n|]+/).map((line) => line.replace(/^>/, '').trim());
    const numbered = lines.filter((line) => /^[0-9a-f]\s*:/i.test(line));
    if (numbered.length > 0) readNumbered(lines, list);
    else for (const line of lines) if (!CHATTER.test(line)) readLine(line, transport, isoTp, list);
  }
  list.problems.push(...isoTp.finish());
  return list;
}

function readLine(line: string, transport: DiagnosticTransport | null, isoTp: IsoTp, list: MessageList): void {
  if (NO_ANSWER.test(line)) {
    list.problems.push(refused('response_absent', `The answer was "${line.slice(0, 40)}"`, 'Ask again.').problem);
    return;
  }
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
  } else if (transport === 'legacy') {
    list.messages.push(legacyMessage(hex.value));
  } else if (id !== null) {
    if (!isRequestId(id)) pushFrame(id, hex.value, isoTp, list);
  } else {
    readBare(hex.value, transport, isoTp, list);
  }
}

/** No CAN id: a whole message starts with a response service (41 and up), a frame with its ISO 15765-2 byte (below 40). */
function readBare(bytes: Uint8Array, transport: DiagnosticTransport | null, isoTp: IsoTp, list: MessageList): void {
  const [lead = 0, second = 0] = bytes;
  if (transport === null && lead >= 0x48 && (second === 0x6b || second === 0xf1))
    list.messages.push(legacyMessage(bytes));
  else if (lead >= 0x40) list.messages.push({ module: null, bytes });
  else if (lead >= 1 && lead <= 0x0a && bytes.length <= 3 && second < 0x41)
    return; // the request, echoed
  else pushFrame(null, bytes, isoTp, list);
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

/** `014` (length, three digits) then `0: 49 02 01 …`, `1: …`: one message without headers. */
function readNumbered(lines: string[], list: MessageList): void {
  let length: number | null = null;
  let due = 0;
  let bytes: number[] = [];
  const end = (): void => {
    if (bytes.length === 0) return;
    if (length !== null && bytes.length < length) {
      const detail = `${bytes.length} of ${length} bytes had come`;
      list.problems.push(refused('frame_incomplete', detail, 'Capture the whole answer again.').problem);
    } else {
      list.messages.push({ module: null, bytes: Uint8Array.from(bytes.slice(0, length ?? bytes.length)) });
    }
    bytes = [];
    length = null;
  };
  for (const line of lines) {
    const part = /^([0-9a-f])\s*:\s*(.*)$/i.exec(line);
    if (!part) {
      end();
      if (/^[0-9a-f]{3}$/i.test(line)) length = Number.parseInt(line, 16);
      due = 0;
      continue;
    }
    const hex = bytesFromHex(part[2] ?? '');
    if (!hex.ok || Number.parseInt(part[1] ?? '', 16) !== due) {
      const detail = hex.ok ? `line ${part[1]} where ${due} was due` : hex.problem.detail;
      const advice = 'Turn headers on when several modules answer, and send every line in order.';
      list.problems.push(refused('frame_order', detail, advice).problem);
      return;
    }
    bytes.push(...hex.value);
    due = (due + 1) & 0x0f;
  }
  end();
}
