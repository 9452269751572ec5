import { type DecodeProblem, refused } from '../decode-problem.js';
import type { J1939Id } from './id.js';

export const PGN_TP_CM = 60_416;
export const PGN_TP_DT = 60_160;

const RTS = 16;
const CTS = 17;
const END_OF_MESSAGE = 19;
const BAM = 32;
const ABORT = 255;
const MIN_BYTES = 9;
const MAX_BYTES = 1_785;

/** Open messages at once: at most one a pair of addresses, far more than a vehicle has. */
const MAX_OPEN = 512;

export interface J1939Message {
  pgn: number;
  source: number;
  destination: number;
  data: Uint8Array;
}

export interface J1939Result {
  message: J1939Message | null;
  problem: DecodeProblem | null;
}

/** Joins multi-packet messages; single frames pass through. Never throws. */
export interface J1939Transport {
  push(id: J1939Id, data: Uint8Array): J1939Result;
  finish(): DecodeProblem[];
}

interface Open {
  pgn: number;
  packets: number;
  next: number;
  data: Uint8Array;
  broadcast: boolean;
}

const NOTHING: J1939Result = { message: null, problem: null };

/**
 * SAE J1939-21 transport protocol (layout from memory; checked against a published broadcast).
 * TP.CM (EC00): control, size low and high, packets, -, PGN low, middle, high. Control 32 broadcast, 16 request to send,
 * 17 clear to send, 19 end of message, 255 abort. TP.DT (EB00): packet number from 1, seven bytes.
 */
export function createJ1939Transport(): J1939Transport {
  const open = new Map<number, Open>();
  const keyOf = (source: number, destination: number): number => source * 256 + destination;

  const begin = ({ source, destination }: J1939Id, data: Uint8Array): J1939Result => {
    const key = keyOf(source, destination);
    const before = open.get(key);
    const problem = before ? problemOf('frame_incomplete', source, progress(before)) : null;
    open.delete(key);
    const size = (data[1] ?? 0) | ((data[2] ?? 0) << 8);
    const packets = data[3] ?? 0;
    if (size < MIN_BYTES || size > MAX_BYTES || packets !== Math.ceil(size / 7)) {
      return { message: null, problem: problemOf('frame_invalid', source, `${size} bytes in ${packets} packets`) };
    }
    if (open.size >= MAX_OPEN) open.delete(open.keys().next().value ?? -1);
    const pgn = (data[5] ?? 0) | ((data[6] ?? 0) << 8) | ((data[7] ?? 0) << 16);
    open.set(key, { pgn, packets, next: 1, data: new Uint8Array(size), broadcast: data[0] === BAM });
    return { message: null, problem };
  };

  const control = (id: J1939Id, data: Uint8Array): J1939Result => {
    if (data.length < 8)
      return { message: null, problem: problemOf('frame_invalid', id.source, 'a short control frame') };
    const [kind] = data;
    if (kind === BAM || kind === RTS) return begin(id, data);
    if (kind === CTS) {
      // The receiver names the packet it wants next: a repeat after a loss.
      const sending = open.get(keyOf(id.destination, id.source));
      if (sending && (data[2] ?? 0) >= 1) sending.next = Math.min(sending.next, data[2] ?? 1);
      return NOTHING;
    }
    if (kind === ABORT) {
      const gone = [keyOf(id.source, id.destination), keyOf(id.destination, id.source)].filter((key) =>
        open.delete(key),
      );
      return gone.length === 0
        ? NOTHING
        : { message: null, problem: problemOf('frame_incomplete', id.source, 'the connection was aborted') };
    }
    if (kind === END_OF_MESSAGE) return NOTHING;
    return { message: null, problem: problemOf('frame_invalid', id.source, `control ${kind} is not in the standard`) };
  };

  const packet = (id: J1939Id, data: Uint8Array): J1939Result => {
    const key = keyOf(id.source, id.destination);
    const message = open.get(key);
    const ordinal = data[0] ?? 0;
    if (!message)
      return { message: null, problem: problemOf('frame_order', id.source, `packet ${ordinal} unannounced`) };
    const start = (ordinal - 1) * 7;
    const needed = Math.min(7, message.data.length - start);
    const repeated = !message.broadcast && ordinal >= 1 && ordinal < message.next;
    if (repeated) return NOTHING;
    if (ordinal !== message.next || data.length - 1 < needed) {
      open.delete(key);
      return {
        message: null,
        problem: problemOf('frame_order', id.source, `packet ${ordinal}, ${message.next} was due`),
      };
    }
    message.data.set(data.subarray(1, 1 + needed), start);
    message.next++;
    if (message.next <= message.packets) return NOTHING;
    open.delete(key);
    const { source, destination } = id;
    return { message: { pgn: message.pgn, source, destination, data: message.data }, problem: null };
  };

  return {
    push(id, data) {
      if (id.pgn === PGN_TP_CM) return control(id, data);
      if (id.pgn === PGN_TP_DT) return packet(id, data);
      return { message: { pgn: id.pgn, source: id.source, destination: id.destination, data }, problem: null };
    },
    finish() {
      const left = [...open].map(([key, message]) => problemOf('frame_incomplete', key >> 8, progress(message)));
      open.clear();
      return left;
    },
  };
}

function progress(message: Open): string {
  return `${message.next - 1} of ${message.packets} packets had come`;
}

function problemOf(
  code: 'frame_invalid' | 'frame_order' | 'frame_incomplete',
  source: number,
  what: string,
): DecodeProblem {
  return refused(code, `Source address ${source}: ${what}`, 'Capture the bus again, without filtering frames out.')
    .problem;
}
