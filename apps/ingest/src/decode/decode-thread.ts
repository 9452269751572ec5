import { parentPort, workerData } from 'node:worker_threads';
import { classifyError, type LogChunkMeta, type ProblemDocument, TallybayError } from '@tallybay/contracts';
import type { LogPlan } from '@tallybay/decode';
import { type DecodedLog, LogSession } from './log-session.js';

/** To the thread. `drop`: forget the upload, its partition has gone to another process. */
export type ThreadRequest =
  | { kind: 'chunk'; id: number; meta: LogChunkMeta; plan: string; value: Uint8Array; nowMs: number }
  | { kind: 'drop'; id: number; uploadId: string };

/** From the thread, one for each request, in order. */
export type ThreadReply =
  | { id: number; kind: 'taken' }
  | { id: number; kind: 'decoded'; decoded: DecodedLog }
  | { id: number; kind: 'failed'; problem: ProblemDocument; code: string };

const { lake, owner } = workerData as { lake: string; owner: string };
const sessions = new Map<string, LogSession>();

function takeChunk(request: Extract<ThreadRequest, { kind: 'chunk' }>): ThreadReply {
  const { id, meta, value, nowMs } = request;
  let session = sessions.get(meta.uploadId);
  if (session && (meta.attempt > session.meta.attempt || meta.ordinal === 0)) {
    session.abort();
    sessions.delete(meta.uploadId);
    session = undefined;
  }
  if (session && meta.attempt < session.meta.attempt) return { id, kind: 'taken' };
  if (!session) {
    session = new LogSession(lake, meta, readPlan(request.plan, meta), owner, nowMs);
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

function drop(uploadId: string): void {
  sessions.get(uploadId)?.abort();
  sessions.delete(uploadId);
}

function answer(request: ThreadRequest): ThreadReply {
  if (request.kind === 'drop') {
    drop(request.uploadId);
    return { id: request.id, kind: 'taken' };
  }
  try {
    return takeChunk(request);
  } catch (thrown) {
    drop(request.meta.uploadId);
    const error = classifyError(thrown);
    return { id: request.id, kind: 'failed', problem: error.toDocument(), code: error.code };
  }
}

parentPort!.on('message', (request: ThreadRequest) => parentPort!.postMessage(answer(request)));
