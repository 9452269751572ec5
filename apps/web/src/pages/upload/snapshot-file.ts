const SNAPSHOT_MEMBERS = ['codes', 'monitors', 'counters', 'raw', 'lampOn', 'read'];

/**
 * The snapshots in a JSON text: one object, a list of them, or one object a line; null when it holds anything else. A file of
 * one object is sent as it was written, so that the same file has the same hash.
 */
export function snapshotBodies(text: string): string[] | null {
  const plain = text.replace(/^\uFEFF/, '');
  const values = parseJsonOrLines(plain);
  if (!values || values.length === 0 || !values.every(looksLikeSnapshot)) return null;
  return values.length === 1 && !plain.trimStart().startsWith('[')
    ? [plain]
    : values.map((value) => JSON.stringify(value));
}

function parseJsonOrLines(text: string): unknown[] | null {
  const whole = tryJson(text);
  if (whole !== undefined) return Array.isArray(whole) ? whole : [whole];
  const lines = text.split(/\r?\n/).filter((line) => line.trim() !== '');
  const values = lines.map(tryJson);
  return lines.length > 1 && !values.includes(undefined) ? values : null;
}

function tryJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    // Not one document; whether its lines are documents is looked at next.
    return undefined;
  }
}

function looksLikeSnapshot(value: unknown): boolean {
  if (typeof value !== 'object' || value === null) return false;
  return 'time' in value && SNAPSHOT_MEMBERS.some((member) => member in value);
}
