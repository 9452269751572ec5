import { PassThrough, type Readable } from 'node:stream';
import httpProxy from '@fastify/http-proxy';
import { TallybayError } from '@tallybay/contracts';
import { requestSpan, traceHeaders } from '@tallybay/trace';
import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { sendProblem } from '../http/problem.filter.js';
import { REQUEST_ID_HEADER } from '../http/request-id.js';

/** First path segments that apps/ingest answers; served here too, so that people need one address only. */
export const INGEST_PREFIXES = [
  '/v1/logs',
  '/v1/transfers',
  '/v1/snapshots',
  '/v1/uploads',
  '/v1/pipeline',
  '/v1/dead-letters',
  '/v1/decode-again',
  '/v1/lake-check',
  '/v1/events',
] as const;

const CONNECT_TIMEOUT_MS = 5_000;
const MAX_CONNECTIONS = 64;

/** Passes bodies of any size through as they come, in both directions; nothing is kept or parsed on the way. */
export async function registerReceiveProxy(fastify: FastifyInstance, ingestUrl: string): Promise<void> {
  for (const prefix of INGEST_PREFIXES) {
    await fastify.register(httpProxy, {
      upstream: ingestUrl,
      prefix,
      rewritePrefix: prefix,
      destroyAgent: true,
      // No limit on how long a log may take to arrive, nor on how long its answer takes: the sender decides to give up.
      undici: {
        connections: MAX_CONNECTIONS,
        pipelining: 1,
        connectTimeout: CONNECT_TIMEOUT_MS,
        headersTimeout: 0,
        bodyTimeout: 0,
      },
      preHandler: (request, _reply, done) => {
        if (isStream(request.body)) request.body = detached(request.body);
        done();
      },
      replyOptions: {
        rewriteRequestHeaders: (request, headers) => forwardedHeaders(request as FastifyRequest, headers),
        onError: (reply, { error }) => {
          sendProblem(unreachable(ingestUrl, error), reply.request as FastifyRequest, reply as FastifyReply);
        },
      },
    });
  }
}

const isStream = (body: unknown): body is Readable =>
  typeof body === 'object' && body !== null && typeof (body as Readable).pipe === 'function';

/**
 * The body as a stream of its own: when ingest goes away the HTTP client destroys the body that it was given, and with the
 * request itself that would cut the sender's connection before it has read why. What is left of the request is read and
 * dropped then. The other way round, a sender who hangs up ends the body with an error, so that ingest sees it cut.
 */
function detached(payload: Readable): PassThrough {
  const body = new PassThrough();
  payload.once('error', (error) => body.destroy(error));
  payload.once('close', () => {
    if (!payload.readableEnded) body.destroy(new Error('the sender closed the connection'));
  });
  body.once('close', () => {
    payload.unpipe(body);
    payload.resume();
  });
  return payload.pipe(body);
}

/** `Expect` was answered by this server already (RFC 9110, section 10.1.1: it is a hop's own matter). */
function forwardedHeaders<T extends object>(request: FastifyRequest, headers: T): T {
  return { ...headers, expect: undefined, [REQUEST_ID_HEADER]: request.id, ...traceHeaders(requestSpan(request)) };
}

function unreachable(ingestUrl: string, thrown: unknown): TallybayError {
  // The proxy wraps what happened on the wire in an error of its own.
  const wire = thrown instanceof Error && thrown.cause instanceof Error ? thrown.cause : thrown;
  const why = wire instanceof Error ? ((wire as Error & { code?: string }).code ?? wire.message) : String(wire);
  return new TallybayError('service_unreachable', `The receiving service at ${ingestUrl} does not answer (${why})`, {
    advice: 'Check that ingest runs and that TALLYBAY_INGEST_URL points to it; an upload can be sent again as it is',
    cause: thrown,
  });
}
