import { type DecodeProblem, refused } from '../decode-problem.js';

/** A 12-bit length is the longest that the legislated diagnostics use. */
export const MAX_ISO_TP_BYTES = 4_095;

/** More senders at once than any vehicle has; older unfinished messages are given up beyond it. */
const MAX_PENDING = 256;

export interface IsoTpResult {
  message: Uint8Array | null;
  problem: DecodeProblem | null;
}

/** Reassembles messages of several senders at once. Never throws. */
export interface IsoTp {
  /** `source` names the sender (CAN id and interface); `data` is the CAN data field, 0 to 8 bytes. */
  push(source: string, data: Uint8Array): IsoTpResult;
  /** Problems of the messages that never ended. */
  finish(): DecodeProblem[];
}

interface Pending {
  bytes: Uint8Array;
  filled: number;
  next: number;
}

const NOTHING: IsoTpResult = { message: null, problem: null };

export function createIsoTp(): IsoTp {
  return new IsoTpReassembler();
}

/**
 * ISO 15765-2. First byte: 0L single frame of L bytes; 1L LL first frame of LLL bytes; 2N consecutive frame N (1..F, 0..F);
 * 3x flow control, which carries no data.
 */
class IsoTpReassembler implements IsoTp {
  private readonly pending = new Map<string, Pending>();

  push(source: string, data: Uint8Array): IsoTpResult {
    if (data.length === 0) return failed('frame_invalid', `${source}: a frame without data`);
    const kind = (data[0] ?? 0) >> 4;
    if (kind === 0) return this.single(source, data);
    if (kind === 1) return this.first(source, data);
    if (kind === 2) return this.consecutive(source, data);
    return kind === 3 ? NOTHING : failed('frame_invalid', `${source}: frame kind ${kind} is not in ISO 15765-2`);
  }

  finish(): DecodeProblem[] {
    return [...this.pending.keys()].map((source) => this.abandon(source)).filter((problem) => problem !== null);
  }

  /** Gives up an open message of the sender; a new message ends the one before. */
  private abandon(source: string): DecodeProblem | null {
    const open = this.pending.get(source);
    if (!open) return null;
    this.pending.delete(source);
    return problemOf('frame_incomplete', `${source}: ${open.filled} of ${open.bytes.length} bytes had come`);
  }

  private single(source: string, data: Uint8Array): IsoTpResult {
    const length = (data[0] ?? 0) & 0x0f;
    const interrupted = this.abandon(source);
    if (length === 0 || length > 7 || length > data.length - 1) {
      const detail = `${source}: a single frame of ${length} bytes in ${data.length - 1} data bytes`;
      return { message: null, problem: interrupted ?? problemOf('frame_invalid', detail) };
    }
    return { message: data.slice(1, 1 + length), problem: interrupted };
  }

  private first(source: string, data: Uint8Array): IsoTpResult {
    const length = (((data[0] ?? 0) & 0x0f) << 8) | (data[1] ?? 0);
    const interrupted = this.abandon(source);
    if (length < 8 || data.length !== 8) {
      const detail = `${source}: a first frame announces ${length} bytes in a frame of ${data.length}`;
      return { message: null, problem: interrupted ?? problemOf('frame_invalid', detail) };
    }
    const { pending } = this;
    if (pending.size >= MAX_PENDING) pending.delete(pending.keys().next().value ?? '');
    const bytes = new Uint8Array(length);
    bytes.set(data.subarray(2, 8));
    pending.set(source, { bytes, filled: 6, next: 1 });
    return { message: null, problem: interrupted };
  }

  private consecutive(source: string, data: Uint8Array): IsoTpResult {
    const open = this.pending.get(source);
    const ordinal = (data[0] ?? 0) & 0x0f;
    if (!open) return failed('frame_order', `${source}: frame ${ordinal} without a first frame`);
    const needed = Math.min(7, open.bytes.length - open.filled);
    if (ordinal !== open.next || data.length - 1 < needed) {
      this.pending.delete(source);
      const isShort = ordinal === open.next;
      const short = `frame ${ordinal} has ${data.length - 1} data bytes, ${needed} are due`;
      return failed('frame_order', `${source}: ${isShort ? short : `frame ${ordinal} where ${open.next} was due`}`);
    }
    open.bytes.set(data.subarray(1, 1 + needed), open.filled);
    open.filled += needed;
    open.next = (open.next + 1) & 0x0f;
    if (open.filled < open.bytes.length) return NOTHING;
    this.pending.delete(source);
    return { message: open.bytes, problem: null };
  }
}

function failed(code: 'frame_invalid' | 'frame_order', detail: string): IsoTpResult {
  return { message: null, problem: problemOf(code, detail) };
}

function problemOf(code: 'frame_invalid' | 'frame_order' | 'frame_incomplete', detail: string): DecodeProblem {
  return refused(code, detail, 'Capture the whole answer again, every frame of it in order.').problem;
}
