import type { UploadRow } from '@tallybay/registry';
import type { ReceivedMessage } from '@tallybay/stream';
import { NO_SPAN, openSpan } from '@tallybay/trace';
import type { DecodeParts } from './decode-parts.js';
import { attemptKey, type Lane, type OpenUpload } from './lane.js';
import { persist } from './patience.js';
import { unknownUpload } from './settlement.js';

/** Which attempts at which uploads a lane works on, by what the registry says. */
export class Attempts {
  constructor(private readonly parts: Pick<DecodeParts, 'registry' | 'settlement' | 'pool' | 'progress' | 'nowMs'>) {}

  /**
   * The attempt that the message belongs to, opened at its first message; null when a newer one is open.
   * A message of an upload that nobody knows is set aside, once. @throws Abandoned
   */
  async openFor(
    message: ReceivedMessage,
    meta: { uploadId: string; attempt: number },
    lane: Lane,
  ): Promise<OpenUpload | null> {
    const known = lane.uploads.get(meta.uploadId);
    if (known && known.attempt === meta.attempt) return known;
    if (known && known.attempt > meta.attempt) return null;
    const row = await this.row(meta.uploadId, lane);
    if (row === null)
      await this.parts.settlement.deadLetter(message, unknownUpload(meta.uploadId).toDocument(), lane.signal);
    if (known) await this.drop(known, lane);
    const needed = isNeeded(row, meta.attempt);
    const open: OpenUpload = {
      id: meta.uploadId,
      attempt: meta.attempt,
      key: attemptKey(meta),
      next: 0,
      mode: needed ? 'decode' : 'skip',
      lastSeenMs: this.parts.nowMs(),
      span: needed ? decodeSpan(message, meta) : NO_SPAN,
    };
    lane.uploads.set(open.id, open);
    return open;
  }

  /** Does the attempt still count? */
  async isStale(open: OpenUpload, lane: Lane): Promise<boolean> {
    return !isNeeded(await this.row(open.id, lane), open.attempt);
  }

  /** @throws Abandoned */
  row(uploadId: string, lane: Lane): Promise<UploadRow | null> {
    const { registry, settlement } = this.parts;
    return persist(() => registry.uploads.get(uploadId), settlement.patience('registry', lane.signal, uploadId));
  }

  /** Forgets the attempt and what its thread has of it. */
  async drop(open: OpenUpload, lane: Lane): Promise<void> {
    lane.settle(open);
    await this.parts.pool.drop(lane.partition, open.id, open.attempt);
    await this.parts.progress.forget(open.id);
  }
}

/** A child of whatever put the message on the stream, in whichever process. */
const decodeSpan = ({ headers }: ReceivedMessage, { uploadId, attempt }: { uploadId: string; attempt: number }) =>
  openSpan('decode upload', {
    role: 'consumer',
    parent: headers.traceparent ?? null,
    attributes: { 'tallybay.upload.id': uploadId, 'tallybay.upload.attempt': attempt },
  });

/** Not if a newer attempt counts, nor if this one was settled before (and is delivered again after a crash). */
const isNeeded = (row: UploadRow | null, attempt: number): boolean =>
  row !== null && row.attempt <= attempt && row.state !== 'stored' && row.state !== 'failed';
