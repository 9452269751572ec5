import { createHash } from 'node:crypto';
import { readFile, stat } from 'node:fs/promises';
import { extname, join } from 'node:path';
import { promisify } from 'node:util';
import { brotliCompress, constants, gzip } from 'node:zlib';

const TYPES: Record<string, string> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
};

/** Good without holding up the first visitor: level 11 takes seconds for the decoder's script. */
const BROTLI_QUALITY = 9;
const SAFE_NAME = /^[\w-][\w.-]*$/;

export type Coding = 'br' | 'gzip' | 'identity';

export interface PageFile {
  type: string;
  etag: string;
  bodies: Record<Coding, Buffer>;
}

/**
 * The built page's files, kept in memory in every coding that browsers ask for: together they are less than a megabyte.
 * A file that was built anew is read again.
 */
export class PageFiles {
  private readonly held = new Map<string, { mtimeMs: number; file: PageFile }>();

  constructor(private readonly directory: string) {}

  /** @param segments path below the page's folder; null when there is no such file (or it is no file of a page) */
  async find(...segments: string[]): Promise<PageFile | null> {
    const name = segments.join('/');
    const type = TYPES[extname(name)];
    if (!type || !segments.every((segment) => SAFE_NAME.test(segment))) return null;
    const path = join(this.directory, ...segments);
    const found = await stat(path).catch(() => null);
    if (!found?.isFile()) return null;
    const known = this.held.get(name);
    if (known?.mtimeMs === found.mtimeMs) return known.file;
    const file = await readPageFile(path, type);
    this.held.set(name, { mtimeMs: found.mtimeMs, file });
    return file;
  }
}

async function readPageFile(path: string, type: string): Promise<PageFile> {
  const identity = await readFile(path);
  const [br, zipped] = await Promise.all([
    promisify(brotliCompress)(identity, { params: { [constants.BROTLI_PARAM_QUALITY]: BROTLI_QUALITY } }),
    promisify(gzip)(identity),
  ]);
  const etag = `"${createHash('sha256').update(identity).digest('base64url').slice(0, 22)}"`;
  return { type, etag, bodies: { br, gzip: zipped, identity } };
}

/** The smallest coding that the browser takes (RFC 9110, section 12.5.3; weights other than q=0 are not compared). */
export function codingFor(acceptEncoding: string | undefined): Coding {
  const taken = new Set(
    (acceptEncoding ?? '')
      .split(',')
      .map((part) =>
        part
          .trim()
          .toLowerCase()
          .split(/\s*;\s*/),
      )
      .filter(([, weight]) => !/^q=0(\.0*)?$/.test(weight ?? ''))
      .map(([name]) => name),
  );
  return taken.has('br') ? 'br' : taken.has('gzip') ? 'gzip' : 'identity';
}
