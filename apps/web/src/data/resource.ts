import type { ProblemDocument } from '@tallybay/contracts';
import { useCallback, useEffect, useState } from 'preact/hooks';
import { getJson, problemOf } from './http.js';

/** Data on its way. While it is fetched again, what was there stays on screen. */
export type Resource<T> = { reload: () => void } & (
  | { state: 'loading' }
  | { state: 'ready'; data: T; refreshing: boolean }
  | { state: 'error'; problem: ProblemDocument }
);

type Held<T> = { path: string } & (
  | { state: 'ready'; data: T; refreshing: boolean }
  | { state: 'error'; problem: ProblemDocument }
);

/**
 * What a GET answers, for as long as `path` stays the same; null asks nothing (and stays `loading`).
 * Answers that arrive after the path has changed are dropped.
 */
export function useResource<T>(path: string | null): Resource<T> {
  const [held, setHeld] = useState<Held<T> | null>(null);
  const [round, setRound] = useState(0);
  useEffect(() => {
    if (path === null) return;
    const cancel = new AbortController();
    setHeld((before) => (before?.path === path && before.state === 'ready' ? { ...before, refreshing: true } : null));
    getJson<T>(path, cancel.signal).then(
      (data) => setHeld({ path, state: 'ready', data, refreshing: false }),
      (thrown: unknown) => {
        if (!cancel.signal.aborted) setHeld({ path, state: 'error', problem: problemOf(thrown) });
      },
    );
    return () => cancel.abort();
  }, [path, round]);
  const reload = useCallback(() => setRound((value) => value + 1), []);
  if (held === null || held.path !== path) return { state: 'loading', reload };
  const { path: _asked, ...rest } = held;
  return { ...rest, reload };
}
