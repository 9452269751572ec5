import { TallybayError } from '@tallybay/contracts';

/** `code` of a Node system error, e.g. ENOENT; undefined for anything else. */
export function errnoOf(thrown: unknown): string | undefined {
  return thrown instanceof Error && 'code' in thrown && typeof thrown.code === 'string' ? thrown.code : undefined;
}

const ADVICE: Record<string, string> = {
  ENOSPC: 'Free space on this disk; sending works again by itself.',
  EDQUOT: 'Raise the disk quota or free space; sending works again by itself.',
  EROFS: 'The disk is mounted read-only; remount it or choose another directory for the spool.',
  EACCES: 'Give the service write permission to this directory, or choose another one for the spool.',
  EPERM: 'Give the service write permission to this directory, or choose another one for the spool.',
  ENOTDIR: 'A file stands where the spool needs a directory; choose another directory for the spool.',
};

/** Turns a failed file operation of the spool into `stream_unavailable`, naming the path and what to do. */
export function spoolUnavailable(doing: string, path: string, thrown: unknown): TallybayError {
  if (thrown instanceof TallybayError) return thrown;
  const reason = thrown instanceof Error ? thrown.message : String(thrown);
  const advice = ADVICE[errnoOf(thrown) ?? ''] ?? 'Check the disk and its permissions.';
  return new TallybayError('stream_unavailable', `The spool cannot ${doing} ${path}: ${reason}`, {
    advice,
    place: { file: path },
    cause: thrown,
  });
}

/** A stored record that no longer matches its checksum. */
export function recordCorrupt(file: string, position: number, offset: bigint, what: string): TallybayError {
  return new TallybayError(
    'stream_corrupt',
    `Record ${offset} at byte ${position} of ${file} cannot be read: ${what}`,
    {
      advice: 'Start with onCorrupt "skip" to go on behind it, then decode that upload again from the landing store.',
      place: { file },
    },
  );
}
