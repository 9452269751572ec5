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

export function createJ1939Transport(): J1939Transport {
  return new Reassembler();
}

/**
 * SAE J1939-21 transport protocol (layout from memory; checked against a published broadcast).
 * TP.CM (EC00): control, size low and high, packets, -, PGN low, middle, high. Control 32 broadcast, 16 request to send,
 * 17 clear to send, 19 end of message, 255 abort. TP.DT (EB00): packet number from 1, seven bytes.
 */
class Reassembler implements J1939Transport {
  private readonly open = new Map<number, Open>();

  push(id: J1939Id, data: Uint8Array): J1939Result {
    if (id.pgn === PGN_TP_CM) return this.control(id, data);
    if (id.pgn === PGN_TP_DT) return this.packet(id, data);
    return { message: { pgn: id.pgn, source: id.source, destination: id.destination, data }, problem: null };
  }

  finish(): DecodeProblem[] {
    const left = [...this.open].map(([key, message]) => problemOf('frame_incomplete', key >> 8, progress(message)));
    this.open.clear();
    return left;
  }

  private control(id: J1939Id, data: Uint8Array): J1939Result {
    if (data.length < 8) return failed('frame_invalid', id.source, 'a short control frame');
    switch (data[0]) {
      case BAM:
      case RTS:
        return this.begin(id, data);
      case CTS:
        this.rewind(id, data[2] ?? 0);
        return NOTHING;
      case ABORT:
        return this.abort(id);
      case END_OF_MESSAGE:
        return NOTHING;
      default:
        return failed('frame_invalid', id.source, `control ${data[0]} is not in the standard`);
    }
  }

  private begin({ source, destination }: J1939Id, data: Uint8Array): J1939Result {
    const { open } = this;
    const key = keyOf(source, destination);
    const before = open.get(key);
    const problem = before ? problemOf('frame_incomplete', source, progress(before)) : null;
    open.delete(key);
    const size = (data[1] ?? 0) | ((data[2] ?? 0) << 8);
    const packets = data[3] ?? 0;
    if (size < MIN_BYTES || size > MAX_BYTES || packets !== Math.ceil(size / 7)) {
      return failed('frame_invalid', source, `${size} bytes in ${packets} packets`);
    }
    if (open.size >= MAX_OPEN) open.delete(open.keys().next().value ?? -1);
    const pgn = (data[5] ?? 0) | ((data[6] ?? 0) << 8) | ((data[7] ?? 0) << 16);
    open.set(key, { pgn, packets, next: 1, data: new Uint8Array(size), broadcast: data[0] === BAM });
    return { message: null, problem };
  }

  /** The receiver names the packet it wants next: an earlier one after a loss. */
  private rewind(id: J1939Id, wanted: number): void {
    const sending = this.open.get(keyOf(id.destination, id.source));
    if (sending && wanted >= 1) sending.next = Math.min(sending.next, wanted);
  }

  /** Either side may give up. */
  private abort({ source, destination }: J1939Id): J1939Result {
    const gone = [keyOf(source, destination), keyOf(destination, source)].filter((key) => this.open.delete(key));
    return gone.length === 0 ? NOTHING : failed('frame_incomplete', source, 'the connection was aborted');
  }

  private packet(id: J1939Id, data: Uint8Array): J1939Result {
    const { source, destination } = id;
    const key = keyOf(source, destination);
    const message = this.open.get(key);
    const ordinal = data[0] ?? 0;
    if (!message) return failed('frame_order', source, `packet ${ordinal} unannounced`);
    if (!message.broadcast && ordinal >= 1 && ordinal < message.next) return NOTHING; // a repeat
    const start = (ordinal - 1) * 7;
    const needed = Math.min(7, message.data.length - start);
    if (ordinal !== message.next || data.length - 1 < needed) {
      this.open.delete(key);
      return failed('frame_order', source, `packet ${ordinal}, ${message.next} was due`);
    }
    message.data.set(data.subarray(1, 1 + needed), start);
    message.next++;
    if (message.next <= message.packets) return NOTHING;
    this.open.delete(key);
    return { message: { pgn: message.pgn, source, destination, data: message.data }, problem: null };
  }
}

function keyOf(source: number, destination: number): number {
  return source * 256 + destination;
}

type FrameProblem = 'frame_invalid' | 'frame_order' | 'frame_incomplete';

function failed(code: FrameProblem, source: number, what: string): J1939Result {
  return { message: null, problem: problemOf(code, source, what) };
}

function progress(message: Open): string {
  return `${message.next - 1} of ${message.packets} packets had come`;
}

function problemOf(code: FrameProblem, source: number, what: string): DecodeProblem {
  return refused(code, `Source address ${source}: ${what}`, 'Capture the bus again, without filtering frames out.')
    .problem;
}
