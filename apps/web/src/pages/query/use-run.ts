import { useCallback, useEffect, useRef, useState } from 'preact/hooks';
import { ProblemError, problemFrom, problemOf, unreachable } from '../../data/http.js';
import { type AnswerSoFar, readAnswer } from './answer-reader.js';
import type { ProblemDocument, QueryStatus } from './shapes.js';

export type RunState = 'none' | 'running' | 'done' | 'cancelled' | 'failed';

export interface Run {
  state: RunState;
  /** The same object while rows arrive; `version` tells that it has grown. */
  answer: AnswerSoFar;
  version: number;
  seconds: number;
  truncated: boolean;
  problem: ProblemDocument | null;
}

const NOTHING: Run = {
  ...{ state: 'none', answer: { columns: [], rows: [] }, version: 0, seconds: 0, truncated: false, problem: null },
};
/** Drawing after every part that arrives would take longer than the parts. */
const DRAW_MS = 120;

/** What to fetch: a statement, or a kept answer. */
export type Asked = { sql: string } | { result: string };

/** Runs one question at a time; leaving the page, cancelling and asking anew end the one before. */
export function useRun(person: string) {
  const [run, setRun] = useState<Run>(NOTHING);
  const stop = useRef<AbortController | null>(null);
  useEffect(() => () => stop.current?.abort(), []);
  const start = useCallback(
    async (asked: Asked) => {
      stop.current?.abort();
      const abort = new AbortController();
      stop.current = abort;
      const answer: AnswerSoFar = { columns: [], rows: [] };
      const startedMs = performance.now();
      const show = (changes: Partial<Run>) => {
        if (stop.current !== abort) return;
        setRun((before) => ({ ...before, answer, version: before.version + 1, seconds: since(startedMs), ...changes }));
      };
      show({ state: 'running', truncated: false, problem: null });
      let shownMs = 0;
      const clock = setInterval(() => show({}), 1000);
      const onRows = () => {
        if (performance.now() - shownMs < DRAW_MS) return;
        shownMs = performance.now();
        show({});
      };
      try {
        const response = await fetchAnswer(asked, person, abort.signal);
        const end = await readAnswer(response.body!, answer, onRows).catch((thrown: unknown) => {
          if (abort.signal.aborted) throw thrown;
          return null;
        });
        if (end) show({ state: 'done', truncated: end.truncated });
        else show({ state: 'failed', problem: await whyCut(response) });
      } catch (thrown) {
        if (abort.signal.aborted) show({ state: 'cancelled' });
        else show({ state: 'failed', problem: problemOf(thrown) });
      } finally {
        clearInterval(clock);
      }
    },
    [person],
  );
  const cancel = useCallback(() => stop.current?.abort(), []);
  return { run, start, cancel };
}

const since = (startedMs: number): number => (performance.now() - startedMs) / 1000;

/** Hanging up is what cancels it on the server. */
async function fetchAnswer(asked: Asked, person: string, signal: AbortSignal): Promise<Response> {
  const headers = { accept: 'application/json', ...personHeaders(person) };
  const response = await ('result' in asked
    ? fetch(`/v1/query-results/${encodeURIComponent(asked.result)}/rows`, { headers, signal })
    : fetch('/v1/query', {
        method: 'POST',
        headers: { ...headers, 'content-type': 'application/json' },
        body: JSON.stringify({ sql: asked.sql }),
        signal,
      })
  ).catch((thrown: unknown) => {
    if (signal.aborted) throw thrown;
    throw new ProblemError(unreachable());
  });
  if (!response.ok) throw new ProblemError(problemFrom(await response.text(), response.status));
  return response;
}

export const personHeaders = (person: string): Record<string, string> =>
  person === '' ? {} : { 'x-tallybay-person': encodeURIComponent(person) };

/** The connection ended before the answer did; the service has kept why. */
async function whyCut(response: Response): Promise<ProblemDocument> {
  const id = response.headers.get('x-tallybay-query') ?? '';
  const status = await fetch(`/v1/query/${encodeURIComponent(id)}`)
    .then((answer) => (answer.ok ? (answer.json() as Promise<QueryStatus>) : null))
    .catch(() => null);
  const { problem } = status ?? { problem: null };
  if (!problem) return unreachable();
  return { type: `urn:tallybay:problem:${problem.code}`, title: 'The answer was cut', status: 422, ...problem };
}
