import { closeSync, fsyncSync, openSync, readdirSync, statSync } from 'node:fs';

/** A change so short ago may not be the last one that the folder's time stamp stands for. */
const UNSETTLED_MS = 2_000;
/** Folders whose names are kept. */
const MOST_FOLDERS = 5_000;

const kept = new Map<string, { changedAtMs: number; names: readonly string[] }>();

/** Changes with every change of a folder's names; 0 for a folder that is not there. */
export const folderVersion = (folder: string): number => statSync(folder, { throwIfNoEntry: false })?.mtimeMs ?? 0;

export const isSettled = (changedAtMs: number): boolean => Date.now() - changedAtMs >= UNSETTLED_MS;

/** Names in a folder; none where there is no folder. One that has not changed since is not read again. */
export function namesIn(folder: string): readonly string[] {
  // In this order: what comes into the folder from here on has another time stamp, once this one is old enough.
  const changedAtMs = folderVersion(folder);
  if (changedAtMs === 0) return [];
  const known = kept.get(folder);
  if (known?.changedAtMs === changedAtMs) return known.names;
  const settled = isSettled(changedAtMs);
  const names = readNames(folder);
  if (kept.size >= MOST_FOLDERS) kept.clear();
  if (settled) kept.set(folder, { changedAtMs, names });
  else kept.delete(folder);
  return names;
}

function readNames(folder: string): readonly string[] {
  try {
    return readdirSync(folder);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw error;
  }
}

export function syncFolder(folder: string): void {
  const descriptor = openSync(folder, 'r');
  try {
    fsyncSync(descriptor);
  } finally {
    closeSync(descriptor);
  }
}
