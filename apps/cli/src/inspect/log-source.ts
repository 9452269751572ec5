import { createReadStream } from 'node:fs';
import { stat } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { fileProblem, gunzipped, isGzip, openContent, readHead } from '../upload/content.js';

/** As much of a log as detection may look at; the rest is read as it comes. */
const HEAD_BYTES = 256 * 1024;
const GZIP_MAGIC_BYTES = 2;

export interface LogSource {
  /** The first bytes, at most about HEAD_BYTES; all of the log when `complete`. */
  head: Uint8Array;
  complete: boolean;
  /** The whole log from its first byte, head included. */
  bytes: AsyncIterable<Uint8Array>;
}

/**
 * Opens a file, or standard input for `-`; gzip is undone.
 * @throws TallybayError `file_unreadable`, `body_cut`
 */
export async function openLog(path: string, stdin: Readable): Promise<LogSource> {
  const source = path === '-' ? await openStdin(stdin) : await openFile(path);
  const iterator = source[Symbol.asyncIterator]();
  const { bytes: head, complete } = await take(iterator, HEAD_BYTES);
  return { head, complete, bytes: headThenRest(head, iterator) };
}

async function openFile(path: string): Promise<AsyncIterable<Uint8Array>> {
  const facts = await stat(path).catch((error) => {
    throw fileProblem(path, error);
  });
  if (facts.isDirectory()) throw fileProblem(path, Object.assign(new Error(), { code: 'EISDIR' }));
  // A pipe or device can be read only once: what it starts with is looked at in passing.
  if (!facts.isFile()) return openStdin(createReadStream(path));
  return openContent(path, isGzip(await readHead(path)));
}

async function openStdin(stdin: Readable): Promise<AsyncIterable<Uint8Array>> {
  const iterator = stdin[Symbol.asyncIterator]() as AsyncIterator<Uint8Array>;
  const { bytes: start } = await take(iterator, GZIP_MAGIC_BYTES);
  const whole = headThenRest(start, iterator);
  return isGzip(start) ? gunzipped(Readable.from(whole, { objectMode: false }), 'standard input') : whole;
}

async function take(
  iterator: AsyncIterator<Uint8Array>,
  wanted: number,
): Promise<{ bytes: Uint8Array; complete: boolean }> {
  const parts: Uint8Array[] = [];
  let length = 0;
  while (length < wanted) {
    const next = await iterator.next();
    if (next.done) return { bytes: Buffer.concat(parts), complete: true };
    parts.push(next.value);
    length += next.value.length;
  }
  return { bytes: Buffer.concat(parts), complete: false };
}

async function* headThenRest(head: Uint8Array, rest: AsyncIterator<Uint8Array>): AsyncGenerator<Uint8Array> {
  if (head.length > 0) yield head;
  for (let next = await rest.next(); !next.done; next = await rest.next()) yield next.value;
}
