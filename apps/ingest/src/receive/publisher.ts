import { zstdCompressSync } from 'node:zlib';
import { type LogChunkMeta, type SnapshotMeta, TallybayError, TOPICS } from '@tallybay/contracts';
import type { Registry, UploadRow } from '@tallybay/registry';
import type { StreamMessage, StreamProducer } from '@tallybay/stream';
import type { LandingStore } from './landing.js';

/** Bytes handed to the stream in one send: few enough syncs to be fast, few enough bytes to stay small in memory. */
const SEND_BYTES = 4 << 20;

/** Puts landed uploads on the stream. The upload's row says what and for whom; the landing store has the bytes. */
export class Publisher {
  constructor(
    private readonly registry: Registry,
    private readonly landing: LandingStore,
    private readonly producer: StreamProducer,
  ) {}

  /**
   * Sends every chunk of a `landed` upload. The state moves on only after the last chunk is durable, so an upload found
   * in `landed` at the next start is simply sent again under a new attempt.
   * @throws TallybayError `stream_unavailable`, `landing_corrupt`
   */
  async publish(upload: UploadRow, previousVehicleId: string | null = null): Promise<void> {
    if (upload.vehicle === null || upload.landingFile === null)
      throw new TallybayError('internal', `Upload ${upload.id} has no vehicle or no bytes yet`);
    if (upload.kind === 'snapshot') await this.sendSnapshot(upload, previousVehicleId);
    else await this.sendChunks(upload, previousVehicleId);
    await this.registry.uploads.transition(upload.id, ['landed'], 'queued');
  }

  private async sendChunks(upload: UploadRow, previousVehicleId: string | null): Promise<void> {
    const landed = await this.landing.index(upload.landingFile!);
    await this.registry.uploads.update(upload.id, { progress: { chunks: landed.frames.length, decoded: 0 } });
    const plan = JSON.stringify(upload.plan);
    let batch: StreamMessage[] = [];
    let bytes = 0;
    let ordinal = 0;
    for await (const { frame, bytes: value } of this.landing.frames(upload.landingFile!, landed)) {
      const meta: LogChunkMeta = {
        version: 1,
        uploadId: upload.id,
        vehicleId: upload.vehicle!,
        recorderId: upload.recorder,
        fileName: upload.fileName,
        ordinal: ordinal++,
        chunks: landed.frames.length,
        byteOffset: frame.byteOffset,
        byteLength: frame.byteLength,
        attempt: upload.attempt,
        previousVehicleId,
      };
      batch.push({ key: upload.vehicle!, value, headers: { meta: JSON.stringify(meta), plan } });
      bytes += value.length;
      if (bytes >= SEND_BYTES) {
        await this.producer.send(TOPICS.logs, batch);
        batch = [];
        bytes = 0;
      }
    }
    if (batch.length > 0) await this.producer.send(TOPICS.logs, batch);
  }

  private async sendSnapshot(upload: UploadRow, previousVehicleId: string | null): Promise<void> {
    const parts: Buffer[] = [];
    for await (const part of this.landing.original(upload.landingFile!)) parts.push(part);
    const meta: SnapshotMeta = {
      version: 1,
      uploadId: upload.id,
      vehicleId: upload.vehicle!,
      recorderId: upload.recorder,
      fileName: upload.fileName,
      attempt: upload.attempt,
      previousVehicleId,
    };
    await this.registry.uploads.update(upload.id, { progress: { chunks: 1, decoded: 0 } });
    await this.producer.send(TOPICS.snapshots, [
      { key: upload.vehicle!, value: zstdCompressSync(Buffer.concat(parts)), headers: { meta: JSON.stringify(meta) } },
    ]);
  }
}
