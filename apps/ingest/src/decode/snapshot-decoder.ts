import { zstdDecompressSync } from 'node:zlib';
import { type SnapshotInput, type SnapshotMeta, snapshotSchema } from '@tallybay/contracts';
import { CATALOGUE_VERSION, decodeRawSnapshot } from '@tallybay/decode';
import { type DecodedSnapshot, stageSnapshot } from '@tallybay/lake';
import type { DecodedLog } from './log-session.js';

/** Two attempts at one snapshot may be under way at once: each has files of its own. */
let stagedCount = 0;

/** Reads a snapshot message, decodes its raw responses if it has any, and stages its tables. */
export function decodeSnapshot(lake: string, meta: SnapshotMeta, value: Uint8Array, owner: string): DecodedLog {
  const input = snapshotSchema.parse(JSON.parse(zstdDecompressSync(value).toString('utf8')));
  const { snapshot, problems } = mergeRaw(input);
  const identity = {
    vehicleId: meta.vehicleId,
    uploadId: meta.uploadId,
    recorderId: meta.recorderId,
    fileName: meta.fileName,
    catalogueVersion: CATALOGUE_VERSION,
    attempt: meta.attempt,
  };
  const at = Date.parse(input.time);
  return {
    staged: stageSnapshot(lake, identity, snapshot, `${owner}-s${stagedCount++}`),
    counts: { rows: 1, rowsKept: 1, rowsRejected: 0, rowsRejectedBy: {}, valuesRejectedBy: problems },
    crossings: [],
    firstMs: at,
    lastMs: at,
    catalogueVersion: CATALOGUE_VERSION,
  };
}

/** What the sender states itself wins over what its raw responses say; both together are one snapshot. */
function mergeRaw(input: SnapshotInput): { snapshot: DecodedSnapshot; problems: Record<string, number> } {
  const { raw, ...stated } = input;
  if (!raw) return { snapshot: stated, problems: {} };
  const { problems, ...decoded } = decodeRawSnapshot(raw);
  const counts: Record<string, number> = {};
  for (const problem of problems) counts[problem.code] = (counts[problem.code] ?? 0) + 1;
  const definite = Object.fromEntries(Object.entries(stated).filter(([, value]) => value !== undefined));
  // Modules that answered belong to the codes in the responses, not to a list of the sender's own.
  const { modulesRead, ...rest } = decoded;
  const answered = modulesRead && stated.codes === undefined ? { modulesRead } : {};
  return { snapshot: { ...rest, ...answered, ...definite } as DecodedSnapshot, problems: counts };
}
