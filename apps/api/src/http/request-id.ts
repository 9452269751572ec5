import { randomUUID } from 'node:crypto';
import type { IncomingMessage } from 'node:http';

export const REQUEST_ID_HEADER = 'x-request-id';

/** The caller's id where it is short and plain (it goes into the log and to ingest), else a new one. */
export function requestIdOf(request: Pick<IncomingMessage, 'headers'>): string {
  const given = request.headers[REQUEST_ID_HEADER];
  return typeof given === 'string' && /^[\w.:-]{1,64}$/.test(given) ? given : randomUUID();
}
