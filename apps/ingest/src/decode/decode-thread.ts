import { parentPort, workerData } from 'node:worker_threads';
import { type LogChunkMeta, type ProblemDocument, TallybayError } from '@tallybay/contracts';
import type { LogPlan } from '@tallybay/decode';
import type { VehicleLimit } from '@tallybay/risk';
import { type DecodedLog, LogSession } from './log-session.js';
import { decodeProblem } from './write-problem.js';

/** To the thread. `drop`: forget the upload's attempts up to this one. */
export type ThreadRequest =
  | {
      kind: 'chunk';
      id: number;
      meta: LogChunkMeta;
      plan: string;
      value: Uint8Array;
      limits: readonly VehicleLimit[];
      nowMs: number;
    }
  | { kind: 'drop'; id: number; uploadId: string; attempt: number };

/** From the thread, one for each request, in order. `unknown`: the chunks before this one are not here. */
export type ThreadReply =
  | { id: number; kind: 'taken' }
  | { id: number; kind: 'unknown' }
  | { id: number; kind: 'decoded'; decoded: DecodedLog }
  | { id: number; kind: 'failed'; problem: ProblemDocument; code: string };

const { lake, owner } = workerData as { lake: string; owner: string };
const sessions = new Map<string, LogSession>();
let sessionCount = 0;

function takeChunk(request: Extract<ThreadRequest, { kind: 'chunk' }>): ThreadReply {
  const { id, meta, value, nowMs } = request;
  drop(meta.uploadId, meta.attempt - 1);
  let session = sessions.get(meta.uploadId);
  if (session && meta.attempt < session.meta.attempt) return { id, kind: 'taken' };
  if (!session) {
    if (meta.ordinal > 0) return { id, kind: 'unknown' };
    // Each session writes files of its own: two attempts at one upload may overlap while the first is being stored.
    session = new LogSession({
      ...{ lake, meta, nowMs, limits: request.limits, owner: `${owner}-${sessionCount++}` },
      plan: readPlan(request.plan, meta),
    });
    sessions.set(meta.uploadId, session);
  }
  const decoded = session.take(meta, value);
  if (!decoded) return { id, kind: 'taken' };
  sessions.delete(meta.uploadId);
  return { id, kind: 'decoded', decoded };
}

/** @throws TallybayError `chunk_undecodable` */
function readPlan(json: string, meta: LogChunkMeta): LogPlan {
  try {
    return JSON.parse(json) as LogPlan;
  } catch (cause) {
    throw new TallybayError('chunk_undecodable', `Chunk ${meta.ordinal} of upload ${meta.uploadId} carries no plan`, {
      cause,
    });
  }
}

function drop(uploadId: string, attempt: number): void {
  const session = sessions.get(uploadId);
  if (!session || session.meta.attempt > attempt) return;
  sessions.delete(uploadId);
  session.abort();
}

function answer(request: ThreadRequest): ThreadReply {
  const { id } = request;
  if (request.kind === 'drop') {
    drop(request.uploadId, request.attempt);
    return { id, kind: 'taken' };
  }
  try {
    return takeChunk(request);
  } catch (thrown) {
    drop(request.meta.uploadId, request.meta.attempt);
    const error = decodeProblem(thrown);
    return { id, kind: 'failed', problem: error.toDocument(), code: error.code };
  }
}

parentPort!.on('message', (request: ThreadRequest) => parentPort!.postMessage(answer(request)));
