import { stat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { glob, isDynamicPattern } from 'tinyglobby';

export interface FoundFile {
  /** Absolute. */
  path: string;
  size: number;
  mtimeMs: number;
  /** Named itself, not met in a folder: then it must be something that can be sent. */
  named: boolean;
}

/**
 * The files that paths, folders and globs stand for, each once, in the order given; folders and globs sorted by name.
 * Hidden files and folders are left out unless named.
 * @throws TallybayError `file_unreadable` when one of them stands for nothing
 */
export async function collectFiles(paths: readonly string[], cwd: string): Promise<FoundFile[]> {
  const found = new Map<string, FoundFile>();
  for (const path of paths)
    for (const file of await expand(path, cwd)) {
      const before = found.get(file.path);
      found.set(file.path, before ? { ...before, named: before.named || file.named } : file);
    }
  return [...found.values()];
}

async function expand(path: string, cwd: string): Promise<FoundFile[]> {
  const absolute = resolve(cwd, path);
  const own = await fileFacts(absolute);
  if (own?.isFile()) return [{ path: absolute, size: own.size, mtimeMs: own.mtimeMs, named: true }];
  if (own?.isDirectory()) return listFolder(absolute);
  const matches = isDynamicPattern(path) ? await glob(path, { cwd, absolute: true, onlyFiles: true }) : [];
  if (matches.length === 0)
    throw new TallybayError('file_unreadable', `"${path}" is no file, no folder, and matches nothing`, {
      advice: 'Check the spelling; put a pattern in quotes so that the shell leaves it alone.',
      place: { file: path },
    });
  return withFacts(matches, true);
}

/** Every file under a folder, sorted by path. */
export async function listFolder(folder: string): Promise<FoundFile[]> {
  return withFacts(await glob('**/*', { cwd: folder, absolute: true, onlyFiles: true }), false);
}

async function withFacts(paths: string[], named: boolean): Promise<FoundFile[]> {
  const files: FoundFile[] = [];
  for (const path of paths.map((one) => resolve(one)).sort()) {
    // A file may vanish between the listing and here; then it is not there.
    const facts = await fileFacts(path);
    if (facts?.isFile()) files.push({ path, size: facts.size, mtimeMs: facts.mtimeMs, named });
  }
  return files;
}

const fileFacts = (path: string) => stat(path).catch(() => null);
