import { createWriteStream } from 'node:fs';
import { rename, rm } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { text } from 'node:stream/consumers';
import { pipeline } from 'node:stream/promises';
import {
  PROBLEMS,
  type ProblemCode,
  problemSchema,
  QUERY_FORMATS,
  type QueryRequest,
  type QueryStatus,
  queryStatusSchema,
  TallybayError,
} from '@tallybay/contracts';

export interface AskOptions {
  url: string;
  person: string | undefined;
  signal: AbortSignal;
}

/** An answer as it comes; `outcome` may be asked once it has come in full. */
export interface AnswerStream {
  body: Readable;
  text(): Promise<string>;
  outcome(): Promise<QueryStatus>;
}

/** @throws TallybayError the service's own words, or `service_unreachable` */
export async function ask(request: QueryRequest, options: AskOptions): Promise<AnswerStream> {
  const address = new URL('/v1/query', options.url);
  const response = await fetch(address, {
    method: 'POST',
    headers: {
      'content-type': 'application/json',
      accept: request.format ? QUERY_FORMATS[request.format] : QUERY_FORMATS.json,
      ...(options.person ? { 'x-tallybay-person': encodeURIComponent(options.person) } : {}),
    },
    body: JSON.stringify(request),
    signal: options.signal,
  }).catch((error: Error) => {
    if (options.signal.aborted) throw error;
    // What went wrong is behind a message that is always "fetch failed".
    const { code, message } = (error.cause ?? error) as Error & { code?: string };
    throw new TallybayError('service_unreachable', `${address.origin} did not answer (${code ?? message})`, {
      advice: 'Start the service, or give its address with --url.',
      cause: error,
    });
  });
  if (!response.ok) throw problemFrom(await response.text(), response.status);
  const id = response.headers.get('x-tallybay-query') ?? '';
  const status = new URL(`/v1/query/${encodeURIComponent(id)}`, options.url);
  const body = Readable.fromWeb(response.body as never);
  return {
    body,
    text: () => text(body),
    outcome: async () => queryStatusSchema.parse(await (await fetch(status, { signal: options.signal })).json()),
  };
}

/** Into a file that is there in full or not at all. @throws TallybayError `file_unwritable`, or why the query failed half-way */
export async function saveAnswer(answer: AnswerStream, file: string): Promise<QueryStatus> {
  const partial = `${file}.partial-${process.pid}`;
  try {
    await pipeline(answer.body, createWriteStream(partial));
    await rename(partial, file);
  } catch (error) {
    await rm(partial, { force: true });
    throw cannotWrite(error, file) ?? (await halfWay(answer, error));
  }
  return answer.outcome();
}

/** What the system has against the file; null for what went wrong elsewhere. */
function cannotWrite(error: unknown, file: string): TallybayError | null {
  const { code, syscall } = error as NodeJS.ErrnoException;
  if (!code || !['open', 'write', 'rename', 'close'].includes(syscall ?? '')) return null;
  const reason = REASONS[code] ?? `the system says ${code}`;
  return new TallybayError('file_unwritable', `${file}: ${reason}`, {
    advice: 'Name a file in a folder that exists and that you may write to, with room for it.',
    place: { file },
    cause: error,
  });
}

const REASONS: Record<string, string> = {
  ENOENT: 'its folder does not exist',
  ENOTDIR: 'its folder does not exist',
  EACCES: 'it may not be written',
  EISDIR: 'it is a folder',
  ENOSPC: 'the disk is full',
  EROFS: 'the disk can only be read',
};

/** The connection was cut: the service knows why. */
export async function halfWay(answer: AnswerStream, error: unknown): Promise<unknown> {
  const problem = (await answer.outcome().catch(() => null))?.problem;
  if (!problem) return error;
  return new TallybayError(codeOf(problem.code), problem.detail, problem.advice ? { advice: problem.advice } : {});
}

function problemFrom(text: string, status: number): TallybayError {
  const parsed = problemSchema.safeParse(tryJson(text));
  if (!parsed.success)
    return new TallybayError('service_unreachable', `The service answered with status ${status} and no explanation`, {
      advice: 'Check that --url is the address of a Tallybay service.',
    });
  const { code, detail, advice, field } = parsed.data;
  return new TallybayError(codeOf(code), detail, { ...(advice ? { advice } : {}), place: field ? { field } : {} });
}

const codeOf = (code: string): ProblemCode => (Object.hasOwn(PROBLEMS, code) ? (code as ProblemCode) : 'internal');

function tryJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
