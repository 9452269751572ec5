import { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { TallybayError } from '@tallybay/contracts';

/** Enough of a log to see its dialect: the longest cell that a log may have, and a whole row behind it. */
export const HEAD_BYTES = 192 * 1024;

export interface OpenedBody {
  /** The first bytes, at most about HEAD_BYTES; all of the log when `complete`. */
  head: Uint8Array;
  complete: boolean;
  /** The whole log from its first byte, head included. */
  bytes: AsyncIterable<Uint8Array>;
}

/**
 * Reads the head of a body and hands out the rest as it comes. A gzip member (RFC 1952 magic) is unpacked on the way:
 * the log is what is inside.
 * @throws TallybayError `body_cut` when the connection or the gzip stream ends early, `body_too_large`
 */
export async function openBody(source: AsyncIterable<Uint8Array>, maxBytes: number): Promise<OpenedBody> {
  const raw = guarded(source, maxBytes)[Symbol.asyncIterator]();
  const first = await collect(raw, 2);
  const gzip = first.bytes[0] === 0x1f && first.bytes[1] === 0x8b;
  const plain = gzip
    ? unpacked(resumed(first.bytes, raw), maxBytes)[Symbol.asyncIterator]()
    : resumed(first.bytes, raw);
  const { bytes: head, complete } = await collect(plain, HEAD_BYTES);
  return { head, complete, bytes: resumed(head, plain) };
}

async function collect(source: AsyncIterator<Uint8Array>, atLeast: number) {
  const parts: Uint8Array[] = [];
  let length = 0;
  while (length < atLeast) {
    const next = await source.next();
    if (next.done) return { bytes: Buffer.concat(parts), complete: true };
    parts.push(next.value);
    length += next.value.length;
  }
  return { bytes: parts.length === 1 ? parts[0]! : Buffer.concat(parts), complete: false };
}

async function* resumed(head: Uint8Array, rest: AsyncIterator<Uint8Array>): AsyncGenerator<Uint8Array> {
  if (head.length > 0) yield head;
  for (let next = await rest.next(); !next.done; next = await rest.next()) yield next.value;
}

async function* unpacked(source: AsyncIterable<Uint8Array>, maxBytes: number): AsyncGenerator<Uint8Array> {
  const gunzip = createGunzip();
  const input = Readable.from(source);
  input.on('error', (error) => gunzip.destroy(error));
  input.pipe(gunzip);
  let length = 0;
  try {
    for await (const bytes of gunzip as AsyncIterable<Buffer>) {
      length += bytes.length;
      if (length > maxBytes) throw tooLarge(maxBytes);
      yield bytes;
    }
  } catch (error) {
    if (error instanceof TallybayError) throw error;
    throw new TallybayError('body_cut', `The gzip stream is damaged or ends early: ${(error as Error).message}`, {
      advice: 'Nothing was stored. Pack the log again and send it again.',
      cause: error,
    });
  } finally {
    input.destroy();
  }
}

async function* guarded(source: AsyncIterable<Uint8Array>, maxBytes: number): AsyncGenerator<Uint8Array> {
  let length = 0;
  try {
    for await (const bytes of source) {
      length += bytes.length;
      if (length > maxBytes) throw tooLarge(maxBytes);
      yield bytes;
    }
  } catch (error) {
    if (error instanceof TallybayError) throw error;
    throw new TallybayError('body_cut', `The connection ended after ${length} bytes: ${(error as Error).message}`, {
      advice: 'Nothing was stored. Send the log again.',
      cause: error,
    });
  }
}

function tooLarge(maxBytes: number): TallybayError {
  return new TallybayError('body_too_large', `The log is larger than ${maxBytes} bytes`, {
    advice: 'Split the log, or raise TALLYBAY_MAX_UPLOAD_BYTES.',
  });
}
