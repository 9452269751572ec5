import type { IncomingMessage } from 'node:http';
import { TallybayError } from '@tallybay/contracts';

/** Collects a small body. @throws TallybayError `body_too_large`, `body_cut` */
export async function readBody(request: IncomingMessage, maxBytes: number): Promise<Buffer> {
  const parts: Buffer[] = [];
  let length = 0;
  try {
    for await (const part of request as AsyncIterable<Buffer>) {
      length += part.length;
      if (length > maxBytes)
        throw new TallybayError('body_too_large', `The body is larger than ${maxBytes} bytes`, {
          advice: 'Send logs to /v1/logs; this address takes small JSON only.',
        });
      parts.push(part);
    }
  } catch (error) {
    if (error instanceof TallybayError) throw error;
    throw new TallybayError('body_cut', `The connection ended after ${length} bytes`, { cause: error });
  }
  return Buffer.concat(parts);
}

/** @throws TallybayError `body_invalid` when it is not JSON; an empty body is an empty object */
export async function readJson(request: IncomingMessage, maxBytes = 1 << 20): Promise<unknown> {
  const body = await readBody(request, maxBytes);
  if (body.length === 0) return {};
  try {
    return JSON.parse(body.toString('utf8'));
  } catch (error) {
    throw new TallybayError('body_invalid', `The body is not JSON: ${(error as Error).message}`, { cause: error });
  }
}

/**
 * Hands out a body of any size. When its reader gives up half-way the request lives on, so that its rest can be read and
 * dropped and the sender gets to see the answer.
 */
export async function withBody<T>(
  request: IncomingMessage,
  read: (body: AsyncIterable<Uint8Array>) => Promise<T>,
): Promise<T> {
  const body = request.iterator({ destroyOnReturn: false });
  try {
    return await read(body as AsyncIterable<Uint8Array>);
  } finally {
    await body.return?.();
  }
}
