import { setTimeout as wait } from 'node:timers/promises';
import { classifyError, TallybayError } from '@tallybay/contracts';
import { ServiceError } from './client.js';

export interface RetryPolicy {
  /** Tries after the first one. */
  retries: number;
  firstDelayMs: number;
  maxDelayMs: number;
}

export const DEFAULT_RETRY: RetryPolicy = { retries: 6, firstDelayMs: 500, maxDelayMs: 30_000 };

export interface RetryHooks {
  signal?: AbortSignal;
  onRetry?: (error: TallybayError, delayMs: number, attempt: number) => void;
  /** 0..1, spreads the delays of many clients; replaced in tests. */
  random?: () => number;
}

/**
 * Runs `action` until it succeeds, fails for good, or the tries are used up; the delay doubles each time.
 * @throws what the last try threw
 */
export async function withRetries<T>(
  action: () => Promise<T>,
  policy: RetryPolicy,
  hooks: RetryHooks = {},
): Promise<T> {
  for (let attempt = 0; ; attempt++) {
    try {
      return await action();
    } catch (thrown) {
      const error = classifyError(thrown);
      if (attempt >= policy.retries || hooks.signal?.aborted || !isWorthRetrying(thrown)) throw thrown;
      const delayMs = retryDelayMs(error, attempt, policy, hooks.random ?? Math.random);
      hooks.onRetry?.(error, delayMs, attempt + 1);
      await wait(delayMs, undefined, { signal: hooks.signal });
    }
  }
}

/** Nobody answered, or the service says that it cannot right now; a refusal stays a refusal. */
export function isWorthRetrying(error: unknown): boolean {
  if (!(error instanceof TallybayError)) return false;
  if (error.code === 'service_unreachable' || error.problem.disposition === 'retry') return true;
  return error instanceof ServiceError && [429, 502, 503, 504].includes(error.status);
}

function retryDelayMs(error: TallybayError, attempt: number, policy: RetryPolicy, random: () => number): number {
  const asked = error instanceof ServiceError ? error.retryAfterSeconds : null;
  if (asked !== null) return Math.min(asked * 1000, policy.maxDelayMs);
  const full = Math.min(policy.firstDelayMs * 2 ** attempt, policy.maxDelayMs);
  return Math.round(full * (0.75 + 0.5 * random()));
}
