import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { finished } from 'node:stream/promises';
import { type GeneratedFile, generateFleet } from './generate.js';
import type { FleetOptions } from './options.js';

export interface WriteProgress {
  files: number;
  bytes: number;
  /** Path of the file just finished. */
  path: string;
}

/**
 * Writes a fleet under `dir` (made if absent; files of the same names are replaced). Waits for the disk, so memory does
 * not grow with the fleet. Rejects with the file system's error when something cannot be written.
 */
export async function writeFleet(
  options: FleetOptions,
  dir: string,
  onProgress: (progress: WriteProgress) => void = () => {},
): Promise<WriteProgress> {
  const progress: WriteProgress = { files: 0, bytes: 0, path: '' };
  for (const file of generateFleet(options)) {
    progress.bytes += await writeFile(file, join(dir, file.path));
    progress.path = file.path;
    if (!file.append) progress.files += 1;
    onProgress(progress);
  }
  return progress;
}

async function writeFile(file: GeneratedFile, path: string): Promise<number> {
  if (!file.append) await mkdir(dirname(path), { recursive: true });
  const stream = createWriteStream(path, { flags: file.append ? 'a' : 'w' });
  const failed = new Promise<never>((_, reject) => stream.once('error', reject));
  failed.catch(() => {});
  let bytes = 0;
  for (const chunk of file.chunks) {
    bytes += chunk.length;
    if (!stream.write(chunk)) await Promise.race([once(stream, 'drain'), failed]);
  }
  stream.end();
  await finished(stream);
  return bytes;
}
