import type { IncomingMessage, ServerResponse } from 'node:http';
import { NO_SPAN, type OpenSpan } from './span.js';
import { isTracing, openSpan, within } from './tracing.js';

interface Request {
  raw: IncomingMessage;
  method: string;
  url: string;
  routeOptions: { url?: string | undefined };
}

/** As much of a Fastify server as this needs. */
interface Server {
  addHook(
    name: 'onRequest' | 'preHandler',
    hook: (request: Request, reply: { raw: ServerResponse }, done: () => void) => void,
  ): unknown;
}

const spans = new WeakMap<IncomingMessage, OpenSpan>();

/** Asked every few seconds by machines; their spans would bury the others. */
const UNTRACED = /^\/(health|metrics)\b/;

/**
 * A span for every request, a child of the caller's where the caller sent a `traceparent` header (W3C Trace Context). Names
 * and attributes by OpenTelemetry's semantic conventions for HTTP servers. Call it before routes are registered.
 */
export function traceRequests(server: Server): void {
  if (!isTracing()) return;
  server.addHook('onRequest', (request, reply, done) => {
    if (UNTRACED.test(request.url)) return done();
    const span = startOf(request);
    spans.set(request.raw, span);
    // Also where the caller hangs up, which no hook for answers sees.
    reply.raw.once('close', () => {
      const { statusCode } = reply.raw;
      span.set({ 'http.response.status_code': statusCode });
      span.end(endOf(reply.raw));
    });
    within(span, done);
  });
  // Reading a body may have come back from a callback that belongs to the connection, not to the request.
  server.addHook('preHandler', (request, _reply, done) => within(requestSpan(request), done));
}

/** The span of a request; one that does nothing for a request that is not traced. */
export const requestSpan = ({ raw }: Pick<Request, 'raw'>): OpenSpan => spans.get(raw) ?? NO_SPAN;

function startOf({ raw, method, url, routeOptions }: Request): OpenSpan {
  const route = routeOptions.url;
  const { traceparent } = raw.headers;
  return openSpan(route ? `${method} ${route}` : method, {
    role: 'server',
    parent: typeof traceparent === 'string' ? traceparent : null,
    attributes: {
      'http.request.method': method,
      'url.path': url.split('?', 1)[0]!,
      ...(route ? { 'http.route': route } : {}),
    },
  });
}

/** By the conventions a server's span failed when the server did; what the caller did wrong is no failure of it. */
function endOf({ statusCode, writableFinished }: ServerResponse): string | undefined {
  if (!writableFinished) return 'the caller hung up';
  return statusCode >= 500 ? `answered ${statusCode}` : undefined;
}
