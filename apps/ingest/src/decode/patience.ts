import { setTimeout as sleep } from 'node:timers/promises';
import { classifyError, type TallybayError } from '@tallybay/contracts';

const FIRST_WAIT_MS = 200;
const LONGEST_WAIT_MS = 10_000;

/** The partition is being given up: what was tried is left to whoever gets it next. */
export class Abandoned extends Error {
  override readonly name = 'Abandoned';
}

export interface Patience {
  /** Ends the waiting; `Abandoned` is thrown. */
  signal: AbortSignal;
  /** No further try after this instant, epoch ms; without it, for as long as it takes. */
  untilMs?: number;
  /** Told before each wait. */
  onWait?(error: TallybayError, waitMs: number): void;
}

/** Waits between tries: doubling, 200 ms to 10 s. */
export function* waits(): Generator<number, never> {
  for (let waitMs = FIRST_WAIT_MS; ; waitMs = Math.min(2 * waitMs, LONGEST_WAIT_MS)) yield waitMs;
}

/**
 * Tries again for as long as the error may pass by itself (disposition `retry`): a full disk, a broker or a database that
 * is away. A lost partition does not come back, so that one is thrown at once.
 */
export async function persist<T>(work: () => Promise<T>, patience: Patience): Promise<T> {
  for (const waitMs of waits()) {
    try {
      return await work();
    } catch (thrown) {
      const error = classifyError(thrown);
      if (error.problem.disposition !== 'retry' || error.code === 'partition_lost') throw thrown;
      if (patience.untilMs !== undefined && Date.now() + waitMs > patience.untilMs) throw thrown;
      patience.onWait?.(error, waitMs);
    }
    await pause(waitMs, patience.signal);
  }
  throw new Abandoned('unreachable: waits never end');
}

/** @throws Abandoned as soon as the signal says so */
export async function pause(waitMs: number, signal: AbortSignal): Promise<void> {
  try {
    await sleep(waitMs, undefined, { signal });
  } catch {
    throw new Abandoned('the partition is being given up');
  }
}
