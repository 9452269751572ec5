import { MAX_LINE_BYTES } from './candump-line.js';

const [LF, CR] = [0x0a, 0x0d];

/** Calls `line` for each line, whatever the cuts between pushes; a line over the limit is given empty-handed as `tooLong`. */
export interface LineSplitter {
  push(bytes: Uint8Array): void;
  /** The last line may lack its line break. */
  finish(): void;
}

export interface LineSink {
  line(bytes: Uint8Array, start: number, end: number): void;
  tooLong(): void;
}

export function createLineSplitter(sink: LineSink): LineSplitter {
  const carry = new Uint8Array(MAX_LINE_BYTES);
  let carried = 0;
  let skipping = false;

  const emit = (bytes: Uint8Array, start: number, end: number): void => {
    const last = end > start && bytes[end - 1] === CR ? end - 1 : end;
    if (last > start) sink.line(bytes, start, last);
  };

  /** The part of a line that a push ends in, or starts with. */
  const keep = (bytes: Uint8Array, start: number, end: number): void => {
    if (skipping) return;
    if (carried + end - start > MAX_LINE_BYTES) {
      skipping = true;
      carried = 0;
      return;
    }
    carry.set(bytes.subarray(start, end), carried);
    carried += end - start;
  };

  const endOfLine = (bytes: Uint8Array, start: number, end: number): void => {
    if (!skipping && carried === 0 && end - start <= MAX_LINE_BYTES) {
      emit(bytes, start, end);
      return;
    }
    keep(bytes, start, end);
    if (skipping) sink.tooLong();
    else emit(carry, 0, carried);
    carried = 0;
    skipping = false;
  };

  return {
    push(bytes) {
      let start = 0;
      for (;;) {
        const end = bytes.indexOf(LF, start);
        if (end < 0) break;
        endOfLine(bytes, start, end);
        start = end + 1;
      }
      if (start < bytes.length) keep(bytes, start, bytes.length);
    },
    finish() {
      if (skipping) sink.tooLong();
      else if (carried > 0) emit(carry, 0, carried);
      carried = 0;
      skipping = false;
    },
  };
}
