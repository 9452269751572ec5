import type { ProblemDocument } from '@tallybay/contracts';
import { t } from '../text/text.js';

/** What the service (or the way to it) said went wrong, ready to be shown. */
export class ProblemError extends Error {
  override readonly name = 'ProblemError';
  constructor(readonly problem: ProblemDocument) {
    super(problem.detail);
  }
}

/** @throws ProblemError; AbortError when `signal` ends it */
export const getJson = <T>(path: string, signal?: AbortSignal): Promise<T> => ask<T>(path, { signal: signal ?? null });

/** Sends a JSON body and reads a JSON answer. @throws ProblemError */
export function sendJson<T>(
  method: 'POST' | 'PUT' | 'DELETE',
  path: string,
  body?: unknown,
  headers: Record<string, string> = {},
): Promise<T> {
  const typed = body === undefined ? headers : { 'content-type': 'application/json', ...headers };
  return ask<T>(path, { method, headers: typed, body: body === undefined ? null : JSON.stringify(body) });
}

/** Headers of an edit made against this version, 0 = nothing was saved yet: what others saved meanwhile is not overwritten. */
export const editOf = (version: number): Record<string, string> =>
  version === 0 ? { 'if-none-match': '*' } : { 'if-match': `"${version}"` };

async function ask<T>(path: string, init: RequestInit): Promise<T> {
  const response = await fetch(path, init).catch((thrown: unknown) => {
    if (thrown instanceof DOMException && thrown.name === 'AbortError') throw thrown;
    throw new ProblemError(unreachable());
  });
  const text = await response.text();
  if (!response.ok) throw new ProblemError(problemFrom(text, response.status));
  return (text === '' ? undefined : JSON.parse(text)) as T;
}

/** A problem document, or one made of the bare status when something between us and the service answered. */
export function problemFrom(text: string, status: number): ProblemDocument {
  try {
    const parsed = JSON.parse(text) as Partial<ProblemDocument>;
    if (typeof parsed.title === 'string' && typeof parsed.detail === 'string') return parsed as ProblemDocument;
  } catch {
    // Not JSON: a proxy's own page. Its markup would tell a reader nothing.
  }
  return plain('internal', t.problems.oddAnswer(status), status, t.problems.oddAnswerAdvice);
}

export const unreachable = (): ProblemDocument =>
  plain('service_unreachable', t.problems.unreachable, 0, t.problems.unreachableAdvice);

/** Anything that was thrown, as a problem to show. */
export function problemOf(thrown: unknown): ProblemDocument {
  if (thrown instanceof ProblemError) return thrown.problem;
  return plain('internal', thrown instanceof Error ? thrown.message : String(thrown), 0, t.problems.unexpectedAdvice);
}

const plain = (code: string, detail: string, status: number, advice: string): ProblemDocument => ({
  type: `urn:tallybay:problem:${code}`,
  title: t.problems.title,
  ...{ status, detail, code, advice },
});
