import { type DecodeProblem, refused } from '../decode-problem.js';

/** One signal of a signal description file: bits of a frame to a number. */
export interface DbcSignal {
  message: string;
  name: string;
  startBit: number;
  length: number;
  /** `intel` = least significant bit first; `motorola` = most significant first. */
  order: 'intel' | 'motorola';
  signed: boolean;
  factor: number;
  offset: number;
  /** 0 | 0 = no range stated. Outside it the bits are no value. */
  min: number;
  max: number;
  unit: string;
  /** Set: present only where the multiplexor of the message has this value. */
  multiplexValue: number | null;
  multiplexor: boolean;
}

export interface DbcMessage {
  name: string;
  id: number;
  extended: boolean;
  bytes: number;
  signals: DbcSignal[];
}

export interface DbcFile {
  messages: DbcMessage[];
  /** Lines of messages or signals that could not be read; the others were. */
  problems: DecodeProblem[];
}

const MESSAGE = /^BO_\s+(\d+)\s+(\w+)\s*:\s*(\d+)\s+\S+/;
const SIGNAL =
  /^SG_\s+(\w+)\s*(M|m\d+M?)?\s*:\s*(\d+)\|(\d+)@([01])([+-])\s*\(\s*([^,\s]+)\s*,\s*([^)\s]+)\s*\)\s*\[\s*([^|\s]+)\s*\|\s*([^\]\s]+)\s*\]\s*"([^"]*)"/;
const EXTENDED_BIT = 0x8000_0000;

/** Signals of one file at most; a description of a whole heavy vehicle has a few thousand. */
export const MAX_DBC_SIGNALS = 20_000;

/**
 * Messages (`BO_`) and signals (`SG_`) of a DBC file; comments, attributes and value tables are ignored.
 * Source: the public DBC layout, from memory. Never throws.
 */
export function parseDbc(text: string): DbcFile {
  const file: DbcFile = { messages: [], problems: [] };
  let message: DbcMessage | null = null;
  let signals = 0;
  const problem = (line: number, text: string): void => {
    const detail = `Line ${line + 1}: "${text.slice(0, 60)}"`;
    file.problems.push(refused('dbc_malformed', detail, 'Check the line against the DBC layout.', line).problem);
  };
  for (const [index, raw] of text.split(/\r?\n/).entries()) {
    const line = raw.trim();
    if (line.startsWith('BO_ ')) {
      message = messageOf(line);
      if (message) file.messages.push(message);
      else problem(index, line);
    } else if (line.startsWith('SG_ ')) {
      const signal = message && signals < MAX_DBC_SIGNALS ? signalOf(line, message) : null;
      if (signal) message?.signals.push(signal);
      else problem(index, line);
      signals++;
    }
  }
  return file;
}

function messageOf(line: string): DbcMessage | null {
  const match = MESSAGE.exec(line);
  const id = Number(match?.[1]);
  if (!match || id > 0xffff_ffff) return null;
  const extended = id >= EXTENDED_BIT;
  return {
    name: match[2] ?? '',
    id: extended ? id - EXTENDED_BIT : id,
    extended,
    bytes: Number(match[3]),
    signals: [],
  };
}

function signalOf(line: string, message: DbcMessage): DbcSignal | null {
  const match = SIGNAL.exec(line);
  if (!match) return null;
  const [, name = '', multiplex = '', start, length, order, sign, factor, offset, min, max, unit = ''] = match;
  const numbers = [start, length, factor, offset, min, max].map(Number);
  if (numbers.some((value) => !Number.isFinite(value))) return null;
  const [startBit = 0, bits = 0, by = 1, shift = 0, low = 0, high = 0] = numbers;
  if (bits < 1 || bits > 64 || startBit > 511 || by === 0) return null;
  return {
    message: message.name,
    name,
    startBit,
    length: bits,
    order: order === '1' ? 'intel' : 'motorola',
    signed: sign === '-',
    factor: by,
    offset: shift,
    min: low,
    max: high,
    unit,
    multiplexValue: multiplex.startsWith('m') ? Number.parseInt(multiplex.slice(1), 10) : null,
    multiplexor: multiplex.endsWith('M'),
  };
}

/** The number, or NaN where the frame does not carry the signal: too short, other multiplex value, outside the range. */
export function dbcNumber(signal: DbcSignal, message: DbcMessage, data: Uint8Array): number {
  if (signal.multiplexValue !== null) {
    const selector = message.signals.find((other) => other.multiplexor && other !== signal);
    if (!selector || rawBits(selector, data) !== signal.multiplexValue) return Number.NaN;
  }
  const raw = rawBits(signal, data);
  const value = raw * signal.factor + signal.offset;
  const ranged = signal.max > signal.min;
  return ranged && (value < signal.min - 1e-9 || value > signal.max + 1e-9) ? Number.NaN : value;
}

/** Unsigned or two's complement; NaN past the end of the data. */
function rawBits(signal: DbcSignal, data: Uint8Array): number {
  let raw = 0;
  let bit = signal.startBit;
  for (let index = 0; index < signal.length; index++) {
    const byte = data[bit >> 3];
    if (byte === undefined) return Number.NaN;
    const value = (byte >> (bit & 7)) & 1;
    if (signal.order === 'intel') {
      raw += value * 2 ** index;
      bit++;
    } else {
      raw = raw * 2 + value;
      bit = (bit & 7) === 0 ? bit + 15 : bit - 1; // past bit 0 comes bit 7 of the next byte
    }
  }
  return signal.signed && raw >= 2 ** (signal.length - 1) ? raw - 2 ** signal.length : raw;
}
