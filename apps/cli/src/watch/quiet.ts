import type { FoundFile } from '../upload/collect.js';

/** What was seen of a file, and since when it has looked like that. */
export interface Sighting {
  size: number;
  mtimeMs: number;
  sinceMs: number;
}

export interface QuietFiles {
  /** Have not changed for the quiet time: whoever wrote them is done. */
  quiet: FoundFile[];
  sightings: Map<string, Sighting>;
}

/**
 * Which files of a listing have kept still for `quietMs`. A file counts from when this program first saw it in its present
 * state: a copy that keeps the card's old modification time is still being written.
 */
export function findQuiet(
  before: ReadonlyMap<string, Sighting>,
  listing: readonly FoundFile[],
  nowMs: number,
  quietMs: number,
): QuietFiles {
  const sightings = new Map<string, Sighting>();
  const quiet: FoundFile[] = [];
  for (const file of listing) {
    const last = before.get(file.path);
    const same = last && last.size === file.size && last.mtimeMs === file.mtimeMs;
    const sighting = same ? last : { size: file.size, mtimeMs: file.mtimeMs, sinceMs: nowMs };
    sightings.set(file.path, sighting);
    if (nowMs - sighting.sinceMs >= quietMs) quiet.push(file);
  }
  return { quiet, sightings };
}
