import type { Profile } from '@tallybay/contracts';
import {
  type ChannelPlan,
  createAccumulator,
  createReader,
  type Inspection,
  inspectReport,
  type LogPlan,
  type PlanHints,
  type PlanProblem,
  planAnyLog,
} from '@tallybay/decode';
import { Sha256 } from './sha256.js';
import { snapshotBodies } from './snapshot-file.js';

/** What a file turned out to be, before anything is sent. */
export type Preview =
  | {
      kind: 'log';
      sha256: string;
      /** Of the file's own bytes: another one where it is packed. */
      sentSha256: string;
      bytes: number;
      inspection: Inspection;
      channels: ChannelPlan[];
      vin: string | null;
      recorder: string | null;
      /** Saved profile that it was read with. */
      profile: string | null;
    }
  | { kind: 'snapshot'; bodies: { text: string; sha256: string }[] }
  | { kind: 'refused'; problem: Pick<PlanProblem, 'detail' | 'advice'> };

export interface PreviewRequest {
  file: Blob;
  name: string;
  hints: Pick<PlanHints, 'recordedAtMs' | 'timeZone'>;
  /** Serial given by the person, where the log carries none. */
  recorder: string | null;
  profiles: readonly Profile[];
  /** Corrections not saved yet; they win over the saved profile. */
  channels: NonNullable<Profile['channels']>;
  nowMs: number;
}

/** What the decoder needs to see of a log before it can plan (header, first rows). */
const HEAD_BYTES = 256 * 1024;
const MAX_SNAPSHOT_BYTES = 64 * 1024 * 1024;

/**
 * Reads a whole file once: hash, dialect, mapping, statistics. Bounded memory for logs of any size.
 * @param onProgress share of the file read, 0..1
 */
export async function readPreview(request: PreviewRequest, onProgress: (share: number) => void): Promise<Preview> {
  const { file } = request;
  const gzip = await isGzip(file);
  const open = () => (gzip ? file.stream().pipeThrough(new DecompressionStream('gzip')) : file.stream());
  const { head, complete } = await readHead(open());
  if (startsLikeJson(head)) return snapshotPreview(file.size, open());
  const plan = planFor(head, complete, request);
  if (!('version' in plan)) return { kind: 'refused', problem: plan };
  return logPreview({ plan: plan.plan, profile: plan.profile, request, source: open(), gzip, onProgress });
}

type Planned = { version: 1; plan: LogPlan; profile: string | null };

/** Planned twice where the log names a recorder with a saved profile: only then is it known which profile applies. */
function planFor(head: Uint8Array, complete: boolean, request: PreviewRequest): Planned | PlanProblem {
  const hints: PlanHints = { fileName: request.name.replace(/\.gz$/i, ''), ...request.hints };
  const first = planAnyLog(head, hints, { complete });
  const recorder = request.recorder ?? (first.ok ? first.plan.recorder : null);
  const saved = request.profiles.find((profile) => recorder !== null && profile.recorder === recorder);
  if (!saved && Object.keys(request.channels).length === 0)
    return first.ok ? { version: 1, plan: first.plan, profile: null } : first.problem;
  const { timeZone, delimiter, decimal, dateOrder, channels } = saved ?? {};
  const profile = { timeZone, delimiter, decimal, dateOrder, channels: { ...channels, ...request.channels } };
  const second = planAnyLog(head, { ...hints, profile: withoutUndefined(profile) }, { complete });
  return second.ok ? { version: 1, plan: second.plan, profile: saved?.id ?? null } : second.problem;
}

interface LogInput {
  plan: LogPlan;
  profile: string | null;
  request: PreviewRequest;
  source: ReadableStream<Uint8Array>;
  gzip: boolean;
  onProgress: (share: number) => void;
}

async function logPreview({ plan, profile, request, source, gzip, onProgress }: LogInput): Promise<Preview> {
  const hash = new Sha256();
  const accumulator = createAccumulator(plan, {});
  const reader = createReader(plan, (batch) => accumulator.add(batch), { nowMs: request.nowMs });
  let bytes = 0;
  for await (const part of chunksOf(source)) {
    hash.update(part);
    reader.push(part);
    bytes += part.length;
    // Of a packed file nobody knows how far it is; a third of its unpacked size is a fair guess for logs.
    onProgress(Math.min(0.99, bytes / (gzip ? request.file.size * 6 : request.file.size)));
  }
  const counts = reader.finish();
  const inspection = inspectReport(request.name, { plan, summary: accumulator.finish(counts), counts });
  const { channels, vin, recorder } = plan;
  const sha256 = hash.digest();
  const sentSha256 = gzip ? await digestOf(request.file) : sha256;
  return { kind: 'log', sha256, sentSha256, bytes, inspection, channels, vin, recorder, profile };
}

async function digestOf(file: Blob): Promise<string> {
  const hash = new Sha256();
  for await (const part of chunksOf(file.stream())) hash.update(part);
  return hash.digest();
}

async function snapshotPreview(size: number, source: ReadableStream<Uint8Array>): Promise<Preview> {
  if (size > MAX_SNAPSHOT_BYTES) return { kind: 'refused', problem: NOT_SNAPSHOT };
  const bodies = snapshotBodies(await new Response(source as ReadableStream<Uint8Array<ArrayBuffer>>).text());
  if (!bodies) return { kind: 'refused', problem: NOT_SNAPSHOT };
  return { kind: 'snapshot', bodies: bodies.map((text) => ({ text, sha256: textHash(text) })) };
}

/** Filled in with words by the page: this file also runs in the worker, which has no language. */
export const NOT_SNAPSHOT = { detail: 'not_snapshot', advice: '' };

function textHash(text: string): string {
  const hash = new Sha256();
  hash.update(new TextEncoder().encode(text));
  return hash.digest();
}

async function isGzip(file: Blob): Promise<boolean> {
  const magic = new Uint8Array(await file.slice(0, 2).arrayBuffer());
  return magic[0] === 0x1f && magic[1] === 0x8b;
}

async function readHead(source: ReadableStream<Uint8Array>): Promise<{ head: Uint8Array; complete: boolean }> {
  const parts: Uint8Array[] = [];
  let length = 0;
  for await (const part of chunksOf(source)) {
    parts.push(part);
    length += part.length;
    if (length >= HEAD_BYTES) return { head: joined(parts, length), complete: false };
  }
  return { head: joined(parts, length), complete: true };
}

/** Ends the stream's reading as well when the caller stops early. */
async function* chunksOf(source: ReadableStream<Uint8Array>): AsyncGenerator<Uint8Array> {
  const reader = source.getReader();
  try {
    for (;;) {
      const { done, value } = await reader.read();
      if (done) return;
      yield value;
    }
  } finally {
    // A stream that has failed answers a cancel with the same error again.
    await reader.cancel().catch(() => undefined);
  }
}

function joined(parts: readonly Uint8Array[], length: number): Uint8Array {
  const whole = new Uint8Array(length);
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}

function startsLikeJson(head: Uint8Array): boolean {
  const text = new TextDecoder().decode(head.subarray(0, 4096)).trimStart();
  return text.startsWith('{') || text.startsWith('[');
}

function withoutUndefined<T extends object>(object: T): T {
  return Object.fromEntries(Object.entries(object).filter(([, value]) => value !== undefined)) as T;
}
