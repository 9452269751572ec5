import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { basename } from 'node:path';
import type { Readable } from 'node:stream';
import { constants, gunzipSync } from 'node:zlib';
import { type LogParameters, TallybayError } from '@tallybay/contracts';
import { fileProblem, isGzip, openContent, readHead } from './content.js';
import { snapshotBodies, startsLikeJson } from './kind.js';
import { TRANSFER_FROM_BYTES } from './transfer-delivery.js';
import type { UploadItem } from './uploader.js';

/** One body to send. A snapshot file may hold several. */
export interface Parcel {
  kind: 'log' | 'snapshot';
  sha256: string;
  bytes: number;
  query: Record<string, string | undefined>;
  /** The file that is sent as it lies there, with the hash of its bytes; only where it is long enough to be a transfer. */
  file?: { path: string; size: number; sha256: string };
  /** A fresh body for each try. */
  open: () => Readable | Uint8Array;
}

/** A snapshot is a page of text; a longer JSON file is no snapshot. */
const MAX_SNAPSHOT_FILE_BYTES = 64 * 1024 * 1024;

/**
 * What a file is sent as; null when it is nothing to send (JSON of another kind met in a folder).
 * @throws TallybayError `body_empty`, `file_unreadable`, `body_cut`, `snapshot_malformed`
 */
export async function parcelsOf(item: UploadItem, snapshotsOnly: boolean): Promise<Parcel[] | null> {
  const { file } = item;
  if (file.size === 0)
    throw new TallybayError('body_empty', `${item.label} holds no bytes`, {
      advice: 'Copy the file from the recorder again.',
      place: { file: item.label },
    });
  const head = await readHead(file.path);
  const gzip = isGzip(head);
  const isJson = snapshotsOnly || startsLikeJson(gzip ? gunzipHead(head) : head);
  if (!isJson) return [await logParcel(item, gzip)];
  return snapshotParcels(item, { gzip, mustBeSnapshot: snapshotsOnly || file.named });
}

async function logParcel(item: UploadItem, gzip: boolean): Promise<Parcel> {
  const { path } = item.file;
  const content = await digestOf(openContent(path, gzip));
  const packed = gzip && item.file.size >= TRANSFER_FROM_BYTES ? await digestOf(openContent(path, false)) : content;
  const file = { path, size: packed.bytes, sha256: packed.sha256 };
  return {
    kind: 'log',
    ...content,
    ...(item.file.size >= TRANSFER_FROM_BYTES ? { file } : {}),
    query: { fileName: sentName(item.file.path), ...item.parameters },
    // The service unpacks; a slow line carries the packed bytes.
    open: () => openContent(item.file.path, false),
  };
}

async function digestOf(source: Readable): Promise<{ sha256: string; bytes: number }> {
  const hash = createHash('sha256');
  let bytes = 0;
  for await (const part of source) {
    hash.update(part);
    bytes += part.length;
  }
  return { sha256: hash.digest('hex'), bytes };
}

async function snapshotParcels(
  item: UploadItem,
  options: { gzip: boolean; mustBeSnapshot: boolean },
): Promise<Parcel[] | null> {
  const bodies =
    item.file.size <= MAX_SNAPSHOT_FILE_BYTES
      ? snapshotBodies(await readText(item.file.path, options.gzip), item.label)
      : null;
  if (bodies) return bodies.map((body) => snapshotParcel(withParameters(body, item.parameters)));
  if (!options.mustBeSnapshot) return null;
  throw new TallybayError('snapshot_malformed', `${item.label} is JSON, but no snapshot`, {
    advice: 'A snapshot has a time and at least one of codes, monitors, counters, raw.',
    place: { file: item.label },
  });
}

function snapshotParcel(body: string): Parcel {
  const bytes = Buffer.from(body, 'utf8');
  const sha256 = createHash('sha256').update(bytes).digest('hex');
  return { kind: 'snapshot', sha256, bytes: bytes.length, query: {}, open: () => bytes };
}

/** What the sender says fills what the snapshot leaves open; it never overrides it. */
function withParameters(body: string, parameters: LogParameters): string {
  const { vehicle, recorder } = parameters;
  if (!vehicle && !recorder) return body;
  return JSON.stringify({ ...(vehicle && { vehicle }), ...(recorder && { recorder }), ...JSON.parse(body) });
}

async function readText(path: string, gzip: boolean): Promise<string> {
  try {
    const bytes = await readFile(path);
    return (gzip ? gunzipSync(bytes) : bytes).toString('utf8').replace(/^\uFEFF/, '');
  } catch (error) {
    throw fileProblem(path, error);
  }
}

/** As much of the start as the compressed start yields; the cut end is expected. */
function gunzipHead(head: Uint8Array): Uint8Array {
  try {
    return gunzipSync(head, { finishFlush: constants.Z_SYNC_FLUSH, maxOutputLength: 1024 * 1024 });
  } catch {
    // Damaged or very long: not recognised here; sending it tells what is wrong.
    return new Uint8Array();
  }
}

/** The name that is told to the service: some recorders write the date only there. */
const sentName = (path: string): string => basename(path).replace(/\.gz$/i, '').slice(-255);
