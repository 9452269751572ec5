import { createReadStream } from 'node:fs';
import { open } from 'node:fs/promises';
import { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { TallybayError } from '@tallybay/contracts';

const GZIP_MAGIC = [0x1f, 0x8b];
/** Enough to see a header, or where a JSON text starts. */
const HEAD_BYTES = 64 * 1024;

/** @throws TallybayError `file_unreadable` with the file's name and the system's reason */
export async function readHead(path: string): Promise<Uint8Array> {
  try {
    const file = await open(path);
    try {
      const { buffer, bytesRead } = await file.read(Buffer.alloc(HEAD_BYTES), 0, HEAD_BYTES, 0);
      return buffer.subarray(0, bytesRead);
    } finally {
      await file.close();
    }
  } catch (error) {
    throw fileProblem(path, error);
  }
}

export const isGzip = (head: Uint8Array): boolean => head[0] === GZIP_MAGIC[0] && head[1] === GZIP_MAGIC[1];

/**
 * A file's content as the recorder wrote it: gzip is undone. Errors of the stream are TallybayErrors
 * (`file_unreadable`; `body_cut` when the compressed data ends early or is damaged).
 */
export function openContent(path: string, gzip: boolean): Readable {
  const file = createReadStream(path, { highWaterMark: 256 * 1024 });
  return gzip ? gunzipped(file, path) : failingAs(file, (error) => fileProblem(path, error));
}

/** @param name for messages */
export function gunzipped(source: Readable, name: string): Readable {
  const gunzip = createGunzip({ chunkSize: 256 * 1024 });
  source.on('error', (error) => gunzip.destroy(fileProblem(name, error)));
  gunzip.on('close', () => source.destroy());
  return failingAs(source.pipe(gunzip), (error) =>
    error instanceof TallybayError
      ? error
      : new TallybayError('body_cut', `the compressed data of ${name} is cut or damaged (${error.message})`, {
          advice: 'Copy the file from the recorder again.',
          place: { file: name },
          cause: error,
        }),
  );
}

export function fileProblem(path: string, cause: unknown): TallybayError {
  const code = cause instanceof Error && 'code' in cause ? String(cause.code) : '';
  const [reason, advice] = FILE_REASONS[code] ?? [cause instanceof Error ? cause.message : String(cause), 'Try again.'];
  return new TallybayError('file_unreadable', `${path} ${reason}`, { advice, place: { file: path }, cause });
}

const FILE_REASONS: Record<string, [reason: string, advice: string]> = {
  ENOENT: ['does not exist', 'Check the spelling of the path.'],
  EACCES: ['may not be read by this user', 'Change its permissions, or run as its owner.'],
  EPERM: ['may not be read by this user', 'Change its permissions, or run as its owner.'],
  EISDIR: ['is a folder', 'Name a file.'],
  EIO: ['cannot be read: the medium reports an error', 'Try the card in another reader.'],
};

/** The same bytes; whatever error the source ends with comes out translated. */
function failingAs(source: Readable, translate: (error: Error) => TallybayError): Readable {
  return Readable.from(translated(source, translate), { objectMode: false });
}

async function* translated(source: Readable, translate: (error: Error) => TallybayError): AsyncGenerator<Buffer> {
  try {
    yield* source;
  } catch (error) {
    throw translate(error instanceof Error ? error : new Error(String(error)));
  }
}
