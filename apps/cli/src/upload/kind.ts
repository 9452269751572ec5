import { TallybayError } from '@tallybay/contracts';

/** What a file is, judged by its content: names say little on a recorder's card. */
export type ContentKind = 'log' | 'snapshot' | 'other-json' | 'empty';

const SNAPSHOT_MEMBERS = ['codes', 'monitors', 'counters', 'raw', 'lampOn', 'read'];

/** True when a text starts like JSON, behind a byte order mark and blanks. */
export function startsLikeJson(head: Uint8Array): boolean {
  const text = new TextDecoder('utf-8').decode(head.subarray(0, 4096)).trimStart();
  return text.startsWith('{') || text.startsWith('[');
}

/**
 * The snapshots in a JSON text: one object, a list of them, or one object a line. Null when it holds JSON of another kind.
 * Bodies are sent as written where the file is one object, so that the same file has the same hash.
 * @throws TallybayError `snapshot_malformed` when it is no JSON
 */
export function snapshotBodies(text: string, name: string): string[] | null {
  const values = parseJsonOrLines(text, name);
  if (!values.every(looksLikeSnapshot) || values.length === 0) return null;
  return values.length === 1 && !text.trimStart().startsWith('[')
    ? [text]
    : values.map((value) => JSON.stringify(value));
}

function parseJsonOrLines(text: string, name: string): unknown[] {
  try {
    const value: unknown = JSON.parse(text);
    return Array.isArray(value) ? value : [value];
  } catch (wholeError) {
    const lines = text.split(/\r?\n/).filter((line) => line.trim() !== '');
    try {
      if (lines.length > 1) return lines.map((line) => JSON.parse(line) as unknown);
    } catch {
      // Neither one document nor one a line: the reason from reading it whole is the more useful one.
    }
    throw new TallybayError('snapshot_malformed', `${name} is no JSON (${(wholeError as Error).message})`, {
      advice: 'Export the snapshot again; the file may be cut.',
      place: { file: name },
      cause: wholeError,
    });
  }
}

function looksLikeSnapshot(value: unknown): boolean {
  if (typeof value !== 'object' || value === null) return false;
  return 'time' in value && SNAPSHOT_MEMBERS.some((member) => member in value);
}
