import { Agent as HttpAgent, request as httpRequest, type IncomingMessage } from 'node:http';
import { Agent as HttpsAgent, request as httpsRequest } from 'node:https';
import type { Readable } from 'node:stream';
import { PROBLEMS, type ProblemCode, type ProblemDocument, problemSchema, TallybayError } from '@tallybay/contracts';
import type { z } from 'zod';

export const DEFAULT_URL = 'http://127.0.0.1:8080';
/** Answers are documents for people; anything longer is not from the service. */
const MAX_ANSWER_BYTES = 256 * 1024 * 1024;
const IDLE_TIMEOUT_MS = 120_000;

export interface Call {
  method: 'GET' | 'POST' | 'PUT' | 'PATCH' | 'HEAD';
  path: string;
  query?: Record<string, string | undefined>;
  /** Bytes to send; a stream is read once, so a caller who retries makes a new one. */
  body?: Readable | Uint8Array;
  contentType?: string;
  /** Further headers, by their names in lower case. */
  headers?: Record<string, string>;
}

export interface Answer {
  status: number;
  text: string;
  /** Seconds, from Retry-After. */
  retryAfterSeconds: number | null;
}

/** What the service answered, as an error that keeps the status, so that a caller can decide on a retry. */
export class ServiceError extends TallybayError {
  constructor(
    code: ProblemCode,
    detail: string,
    options: TallybayError['options'] & { status?: number; retryAfterSeconds?: number | null },
  ) {
    super(code, detail, options);
    this.status = options.status ?? 0;
    this.retryAfterSeconds = options.retryAfterSeconds ?? null;
  }
  /** 0 when there was no answer. */
  readonly status: number;
  readonly retryAfterSeconds: number | null;
}

/** Talks HTTP to the service; errors come out as ServiceError with the service's own words. */
export class ServiceClient {
  private readonly agent: HttpAgent;

  constructor(
    readonly url: URL,
    private readonly signal?: AbortSignal,
  ) {
    const options = { keepAlive: true, maxSockets: 16 };
    this.agent = url.protocol === 'https:' ? new HttpsAgent(options) : new HttpAgent(options);
  }

  /** @throws TallybayError `parameter_invalid` when `url` is no http(s) address */
  static of(url: string, signal?: AbortSignal): ServiceClient {
    const parsed = URL.parse(url);
    if (!parsed || !/^https?:$/.test(parsed.protocol))
      throw new TallybayError('parameter_invalid', `"${url}" is no address of a service`, {
        advice: `Give the whole address, for instance ${DEFAULT_URL}.`,
        place: { field: '--url' },
      });
    return new ServiceClient(parsed, signal);
  }

  /** @throws ServiceError on any status of 400 and up, and when there is no answer */
  async call(call: Call): Promise<Answer> {
    const answer = await this.exchange(call);
    if (answer.status >= 400) throw problemOf(answer, call);
    return answer;
  }

  /** @throws ServiceError as `call`, and when the answer has another shape than `schema` */
  async json<T>(call: Call, schema: z.ZodType<T>): Promise<T> {
    const answer = await this.call(call);
    const parsed = schema.safeParse(tryJson(answer.text));
    if (parsed.success) return parsed.data;
    const issue = parsed.error.issues[0];
    throw new ServiceError('internal', `the service answered ${call.path} in an unexpected shape`, {
      advice: 'The service and this program may be of different versions; update both.',
      place: issue ? { field: issue.path.join('.') } : {},
      status: answer.status,
    });
  }

  /** Is there something at this address? 404 is an answer, not an error. */
  async find<T>(call: Call, schema: z.ZodType<T>): Promise<T | null> {
    try {
      return await this.json(call, schema);
    } catch (error) {
      if (error instanceof ServiceError && error.status === 404) return null;
      throw error;
    }
  }

  close(): void {
    this.agent.destroy();
  }

  private exchange(call: Call): Promise<Answer> {
    const address = new URL(call.path, this.url);
    for (const [name, value] of Object.entries(call.query ?? {}))
      if (value !== undefined) address.searchParams.set(name, value);
    const send = address.protocol === 'https:' ? httpsRequest : httpRequest;
    return new Promise<Answer>((resolve, reject) => {
      const fail = (error: Error) => reject(this.unreachable(error));
      const request = send(address, {
        method: call.method,
        agent: this.agent,
        headers: headersOf(call),
        timeout: IDLE_TIMEOUT_MS,
        signal: this.signal,
      });
      request.on('timeout', () => request.destroy(new Error(`no answer for ${IDLE_TIMEOUT_MS / 1000} s`)));
      request.on('error', fail);
      request.on('close', () => isStream(call.body) && call.body.destroy());
      request.on('response', (response) => {
        // The service may answer before it has read everything (a refusal): stop sending, keep its words.
        if (isStream(call.body)) call.body.unpipe(request);
        collect(response).then((text) => {
          resolve({ status: response.statusCode ?? 0, text, retryAfterSeconds: retryAfter(response) });
          if (!request.writableFinished) request.destroy();
        }, fail);
      });
      if (isStream(call.body)) {
        const body = call.body;
        body.on('error', (error) => {
          request.destroy();
          reject(error);
        });
        body.pipe(request);
      } else request.end(call.body);
    });
  }

  private unreachable(cause: Error & { code?: string }): Error {
    if (this.signal?.aborted) return cause;
    return new ServiceError(
      'service_unreachable',
      `${this.url.origin} did not answer (${cause.code ?? cause.message})`,
      {
        advice: 'Start the service, or give its address with --url.',
        cause,
      },
    );
  }
}

const isStream = (body: Call['body']): body is Readable => body !== undefined && 'pipe' in body;

function headersOf(call: Call): Record<string, string> {
  return {
    accept: 'application/json, application/problem+json',
    ...(call.contentType ? { 'content-type': call.contentType } : {}),
    ...call.headers,
    ...(call.body && !isStream(call.body) ? { 'content-length': String(call.body.byteLength) } : {}),
  };
}

async function collect(response: IncomingMessage): Promise<string> {
  const parts: Buffer[] = [];
  let bytes = 0;
  for await (const part of response) {
    bytes += part.length;
    if (bytes > MAX_ANSWER_BYTES) throw new Error(`the answer is longer than ${MAX_ANSWER_BYTES} bytes`);
    parts.push(part);
  }
  return Buffer.concat(parts).toString('utf8');
}

function retryAfter(response: IncomingMessage): number | null {
  const seconds = Number(response.headers['retry-after']);
  return Number.isFinite(seconds) && seconds >= 0 ? seconds : null;
}

function tryJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

function problemOf(answer: Answer, call: Call): ServiceError {
  const parsed = problemSchema.safeParse(tryJson(answer.text));
  const extra = { status: answer.status, retryAfterSeconds: answer.retryAfterSeconds };
  if (!parsed.success)
    return new ServiceError(
      answer.status >= 500 ? 'service_unreachable' : 'route_unknown',
      `${call.method} ${call.path} was answered with status ${answer.status} and no explanation`,
      { advice: 'Check that --url is the address of a Tallybay service.', ...extra },
    );
  const document: ProblemDocument = parsed.data;
  const { advice, file, row, column, field } = document;
  const code = document.code in PROBLEMS ? (document.code as ProblemCode) : 'internal';
  const place = {
    ...(file && { file }),
    ...(row !== undefined && { row }),
    ...(column && { column }),
    ...(field && { field }),
  };
  return new ServiceError(code, document.detail, { ...(advice ? { advice } : {}), place, ...extra });
}
