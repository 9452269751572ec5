import { randomUUID } from 'node:crypto';
import { zstdCompressSync } from 'node:zlib';
import { classifyError, type LogChunkMeta, type SnapshotMeta, TallybayError, TOPICS } from '@tallybay/contracts';
import type { Registry, UploadRow } from '@tallybay/registry';
import type { StreamMessage, StreamProducer } from '@tallybay/stream';
import { inSpan, traceHeaders } from '@tallybay/trace';
import { formerVehicles } from './former-vehicles.js';
import type { LandingStore } from './landing.js';

/** Bytes handed to the stream in one send: few enough syncs to be fast, few enough bytes to stay small in memory. */
const SEND_BYTES = 4 << 20;
/** A publication that takes longer than this takes a lease, so that other processes see that it is alive. */
const LEASE_AFTER_MS = 3_000;
const LEASE_MS = 15_000;

const leaseName = (id: string): string => `publish:${id}`;

/** Puts landed uploads on the stream. The upload's row says what and for whom; the landing store has the bytes. */
export class Publisher {
  private readonly underWay = new Map<string, Promise<void>>();
  private readonly owner = randomUUID();

  constructor(
    private readonly registry: Registry,
    private readonly landing: LandingStore,
    private readonly producer: StreamProducer,
  ) {}

  /**
   * Sends every chunk of a `landed` upload. The state moves on only after the last chunk is durable, and only if no newer
   * attempt has begun, so an upload found in `landed` is simply sent again under a new attempt.
   * @throws TallybayError `stream_unavailable` (it stays `landed`), `landing_corrupt` (it is marked failed)
   */
  publish(upload: UploadRow): Promise<void> {
    const key = `${upload.id}/${upload.attempt}`;
    const known = this.underWay.get(key);
    if (known) return known;
    const attributes = { 'tallybay.upload.id': upload.id, 'tallybay.upload.kind': upload.kind };
    const sending = inSpan('publish upload', { role: 'producer', attributes }, () => this.send(upload));
    const work = sending.finally(() => this.underWay.delete(key));
    this.underWay.set(key, work);
    return work;
  }

  /** Does this process send the upload at this moment? */
  isSending(upload: UploadRow): boolean {
    return this.underWay.has(`${upload.id}/${upload.attempt}`);
  }

  /**
   * Takes up an upload that was left in `landed`, by this process or a dead one.
   * @returns false when another process is at it, or it has moved on. @throws as `publish`
   */
  async adopt(upload: UploadRow): Promise<boolean> {
    if (this.isSending(upload)) {
      await this.publish(upload);
      return true;
    }
    if (await this.registry.jobs.holder(leaseName(upload.id))) return false;
    const next = { ...upload, attempt: upload.attempt + 1 };
    if (!(await this.registry.uploads.transitionOf(upload, ['landed'], 'landed', { attempt: next.attempt })))
      return false;
    await this.publish(next);
    return true;
  }

  private async send(upload: UploadRow): Promise<void> {
    if (upload.vehicle === null || upload.landingFile === null)
      throw new TallybayError('internal', `Upload ${upload.id} has no vehicle or no bytes yet`);
    const lease = new PublishLease(this.registry, leaseName(upload.id), this.owner);
    try {
      if (upload.kind === 'snapshot') await this.sendSnapshot(upload, upload.vehicle);
      else await this.sendChunks(upload, upload.vehicle, lease);
    } catch (thrown) {
      const error = classifyError(thrown);
      // What is wrong with the bytes will be wrong at the next try too.
      if (error.problem.disposition === 'dead-letter')
        await this.registry.uploads.transitionOf(upload, ['landed'], 'failed', { problem: error.toDocument() });
      throw error;
    } finally {
      await lease.release();
    }
    await this.registry.uploads.transitionOf(upload, ['landed'], 'queued');
  }

  private async sendChunks(upload: UploadRow, vehicleId: string, lease: PublishLease): Promise<void> {
    const landed = await this.landing.index(upload.landingFile!);
    const plan = JSON.stringify(upload.plan);
    let batch: StreamMessage[] = [];
    let bytes = 0;
    let ordinal = 0;
    for await (const { frame, bytes: value } of this.landing.frames(upload.landingFile!, landed)) {
      const meta: LogChunkMeta = {
        ...commonMeta(upload, vehicleId),
        ordinal: ordinal++,
        chunks: landed.frames.length,
        byteOffset: frame.byteOffset,
        byteLength: frame.byteLength,
      };
      batch.push({ key: vehicleId, value, headers: { meta: JSON.stringify(meta), plan, ...traceHeaders() } });
      bytes += value.length;
      if (bytes >= SEND_BYTES) {
        await this.producer.send(TOPICS.logs, batch);
        await lease.keep();
        batch = [];
        bytes = 0;
      }
    }
    if (batch.length > 0) await this.producer.send(TOPICS.logs, batch);
  }

  private async sendSnapshot(upload: UploadRow, vehicleId: string): Promise<void> {
    const parts: Buffer[] = [];
    for await (const part of this.landing.original(upload.landingFile!)) parts.push(part);
    const meta: SnapshotMeta = commonMeta(upload, vehicleId);
    await this.producer.send(TOPICS.snapshots, [
      {
        key: vehicleId,
        value: zstdCompressSync(Buffer.concat(parts)),
        headers: { meta: JSON.stringify(meta), ...traceHeaders() },
      },
    ]);
  }
}

const commonMeta = (upload: UploadRow, vehicleId: string): SnapshotMeta => ({
  version: 1,
  uploadId: upload.id,
  vehicleId,
  recorderId: upload.recorder,
  fileName: upload.fileName,
  attempt: upload.attempt,
  formerVehicleIds: formerVehicles(upload).filter((former) => former !== vehicleId),
});

/** Shows other processes that a long publication is alive; short ones, nearly all, do without. */
class PublishLease {
  private readonly beganMs = Date.now();
  private keptMs = 0;

  constructor(
    private readonly registry: Registry,
    private readonly name: string,
    private readonly owner: string,
  ) {}

  async keep(): Promise<void> {
    const now = Date.now();
    if (now - this.beganMs < LEASE_AFTER_MS || now - this.keptMs < LEASE_MS / 3) return;
    const { jobs } = this.registry;
    if (this.keptMs === 0) await jobs.acquire(this.name, this.owner, LEASE_MS);
    else await jobs.renew(this.name, this.owner, LEASE_MS);
    this.keptMs = now;
  }

  async release(): Promise<void> {
    if (this.keptMs > 0) await this.registry.jobs.release(this.name, this.owner);
  }
}
