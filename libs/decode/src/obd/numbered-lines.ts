import { type DecodeProblem, refused } from '../decode-problem.js';
import { bytesFromHex } from './hex.js';

const LENGTH = /^[0-9a-f]{3}$/i;
const PART = /^([0-9a-f])\s*:\s*(.*)$/i;
/** Requests for codes with the number of answers to wait for (`031`) look like a length, but no line follows them. */
const COUNTED_REQUEST = /^0[347a][1-9]$/i;

interface Open {
  text: string;
  /** Null where no length line came first. */
  length: number | null;
  bytes: number[];
  due: number;
}

/**
 * Long messages as an adapter prints them without headers: `014` (length, three digits), then `0: 49 02 01 …`, `1: …`.
 * Other lines may come between; they are not for this reader.
 */
export class NumberedLines {
  private open: Open | null = null;

  constructor(
    private readonly onMessage: (bytes: Uint8Array) => void,
    private readonly onProblem: (problem: DecodeProblem) => void,
  ) {}

  /** @returns whether the line is part of such a message */
  take(line: string): boolean {
    if (LENGTH.test(line)) {
      this.end();
      this.open = { text: line, length: Number.parseInt(line, 16), bytes: [], due: 0 };
      return true;
    }
    const part = PART.exec(line);
    if (part) this.part(Number.parseInt(part[1] ?? '', 16), part[2] ?? '');
    return part !== null;
  }

  /** A message that is open ends here: whole where its length is not known, else with a problem. */
  end(): void {
    const { open } = this;
    this.open = null;
    if (!open || (open.bytes.length === 0 && COUNTED_REQUEST.test(open.text))) return;
    if (open.length === null) this.onMessage(Uint8Array.from(open.bytes));
    else {
      const detail = `${open.bytes.length} of ${open.length} bytes had come`;
      this.onProblem(refused('frame_incomplete', detail, 'Capture the whole answer again.').problem);
    }
  }

  private part(ordinal: number, text: string): void {
    if (ordinal === 0 && this.open?.length === null) this.end();
    this.open ??= { text: '', length: null, bytes: [], due: 0 };
    const { open } = this;
    const hex = bytesFromHex(text);
    if (!hex.ok || ordinal !== open.due) {
      this.open = null;
      const detail = hex.ok
        ? `line ${ordinal.toString(16).toUpperCase()} where ${open.due} was due`
        : hex.problem.detail;
      const advice = 'Turn headers on when several modules answer, and send every line in order.';
      this.onProblem(refused('frame_order', detail, advice).problem);
      return;
    }
    open.bytes.push(...hex.value);
    open.due = (open.due + 1) & 0x0f;
    if (open.length === null || open.bytes.length < open.length) return;
    this.onMessage(Uint8Array.from(open.bytes.slice(0, open.length)));
    this.open = null;
  }
}
