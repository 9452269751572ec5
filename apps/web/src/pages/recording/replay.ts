import { holds, type Span } from './time-span.js';

/** Speeds that a replay can run at, times real time. */
export const SPEEDS = [0.2, 1, 2, 5, 10, 30, 60, 300] as const;

export interface Replay {
  speed: number;
  /** Run through this span again and again; null = run to the end. */
  repeat: Span | null;
  endMs: number;
  /** First row after an instant that lies in a gap, null elsewhere: there is nothing to see in a gap. */
  afterGap: (atMs: number) => number | null;
}

/** Where the cursor stands after so many ms of the reader's time, and whether the replay goes on. */
export function advanced(cursorMs: number, elapsedMs: number, replay: Replay): { cursorMs: number; playing: boolean } {
  const { repeat, endMs, speed } = replay;
  const start = repeat && !holds(repeat, cursorMs) ? repeat.fromMs : cursorMs;
  const moved = start + elapsedMs * speed;
  const next = replay.afterGap(moved) ?? moved;
  if (repeat && next >= repeat.toMs) {
    const length = repeat.toMs - repeat.fromMs;
    return {
      cursorMs: length > 0 ? repeat.fromMs + ((next - repeat.fromMs) % length) : repeat.fromMs,
      playing: length > 0,
    };
  }
  return next >= endMs ? { cursorMs: endMs, playing: false } : { cursorMs: next, playing: true };
}

/** Nearest instant before or after the cursor; null = there is none. */
export function nextOf(instants: readonly number[], cursorMs: number, direction: 1 | -1): number | null {
  const beyond = instants.filter((ms) => (ms - cursorMs) * direction > 0);
  if (beyond.length === 0) return null;
  return direction > 0 ? Math.min(...beyond) : Math.max(...beyond);
}
