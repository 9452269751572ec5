import type { ProblemDocument } from '@tallybay/contracts';
import { useEffect, useRef, useState } from 'preact/hooks';
import { problemOf, sendJson } from './http.js';

interface Trial<R> {
  running: boolean;
  /** Of what stands in the form now; null before it is tried, and again once the form is edited. */
  result: R | null;
  problem: ProblemDocument | null;
  run(body: unknown): Promise<void>;
}

/**
 * What edited limits or rules would have made of past weeks, asked of the service before anything is saved.
 * @param subject what is tried; an answer says nothing about another one, also when it comes after the next edit
 */
export function useTrial<R>(path: string, subject: unknown): Trial<R> {
  const [running, setRunning] = useState(false);
  const [result, setResult] = useState<R | null>(null);
  const [problem, setProblem] = useState<ProblemDocument | null>(null);
  const now = useRef(subject);
  now.current = subject;
  useEffect(() => setResult(null), [subject]);
  const run = async (body: unknown) => {
    setRunning(true);
    setProblem(null);
    try {
      const found = await sendJson<R>('POST', path, body);
      if (now.current === subject) setResult(found);
    } catch (thrown) {
      setProblem(problemOf(thrown));
    }
    setRunning(false);
  };
  return { running, result, problem, run };
}
