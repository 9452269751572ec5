import { zstdDecompressSync } from 'node:zlib';
import { type LogChunkMeta, TallybayError, type UploadCounts } from '@tallybay/contracts';
import {
  CATALOGUE_VERSION,
  createAccumulator,
  createReader,
  type LogAccumulator,
  type LogPlan,
  type LogReader,
  type LogSummary,
} from '@tallybay/decode';
import { LogWriter, type StagedUpload } from '@tallybay/lake';
import { CrossingTracker, type LimitCrossing, type VehicleLimit } from '@tallybay/risk';

/** What the coordinator needs of a decoded log; the rest is in the staged files. */
export interface DecodedLog {
  staged: StagedUpload;
  counts: UploadCounts;
  firstMs: number | null;
  lastMs: number | null;
  catalogueVersion: string;
  /** Of limits in force, by start. */
  crossings: readonly LimitCrossing[];
}

export interface LogSessionParts {
  lake: string;
  meta: LogChunkMeta;
  plan: LogPlan;
  owner: string;
  nowMs: number;
  limits: readonly VehicleLimit[];
}

/** Decodes one upload's chunks, in order, into staged lake files. Lives in a decode thread. */
export class LogSession {
  private next = 0;
  private readonly reader: LogReader;
  private readonly accumulator: LogAccumulator;
  private readonly writer: LogWriter;

  private readonly crossings: CrossingTracker;
  readonly meta: LogChunkMeta;

  constructor({ lake, meta, plan, owner, nowMs, limits }: LogSessionParts) {
    this.meta = meta;
    this.crossings = new CrossingTracker(limits, plan.signals);
    this.accumulator = createAccumulator(plan, {});
    this.writer = new LogWriter(
      lake,
      {
        vehicleId: meta.vehicleId,
        uploadId: meta.uploadId,
        recorderId: meta.recorderId,
        fileName: meta.fileName,
        catalogueVersion: CATALOGUE_VERSION,
        attempt: meta.attempt,
      },
      plan,
      owner,
    );
    this.reader = createReader(
      plan,
      (batch) => {
        this.accumulator.add(batch);
        this.writer.add(batch);
        this.crossings.add(batch);
      },
      { nowMs },
    );
  }

  /**
   * @returns the decoded log after its last chunk, null before
   * @throws TallybayError `chunk_undecodable` for a damaged or missing chunk; lake errors as they come
   */
  take(meta: LogChunkMeta, value: Uint8Array): DecodedLog | null {
    if (meta.ordinal < this.next) return null;
    if (meta.ordinal > this.next)
      throw new TallybayError('chunk_undecodable', `Chunk ${this.next} of upload ${meta.uploadId} is missing`, {
        advice: 'Decode the upload again: its bytes are in the landing store.',
      });
    const content = unpack(meta, value);
    this.reader.push(content);
    release(content);
    this.next++;
    return this.next < meta.chunks ? null : this.finish();
  }

  abort(): void {
    this.writer.abort();
  }

  private finish(): DecodedLog {
    const summary = this.accumulator.finish(this.reader.finish());
    const crossings = this.crossings.finish();
    return {
      staged: this.writer.finish(summary, crossings),
      crossings,
      counts: countsOf(summary),
      firstMs: summary.firstMs,
      lastMs: summary.lastMs,
      catalogueVersion: CATALOGUE_VERSION,
    };
  }
}

function unpack(meta: LogChunkMeta, value: Uint8Array): Uint8Array {
  let content: Buffer;
  try {
    content = zstdDecompressSync(value, { chunkSize: meta.byteLength + 64 });
  } catch (error) {
    throw new TallybayError(
      'chunk_undecodable',
      `Chunk ${meta.ordinal} of upload ${meta.uploadId}: ${(error as Error).message}`,
      {
        advice: 'Decode the upload again: its bytes are in the landing store.',
        cause: error,
      },
    );
  }
  if (content.length !== meta.byteLength)
    throw new TallybayError(
      'chunk_undecodable',
      `Chunk ${meta.ordinal} of upload ${meta.uploadId} holds ${content.length} bytes, expected ${meta.byteLength}`,
      { advice: 'Decode the upload again: its bytes are in the landing store.' },
    );
  return content;
}

/**
 * Gives a buffer's memory back at once; it is empty afterwards. Left to the collector, the chunks of one log would bring
 * on several full collections of the heap, which looks small to V8 beside the buffers that it holds.
 */
function release({ buffer }: Uint8Array): void {
  // Small ones may be cut from the pool that Node shares among its buffers.
  if (buffer instanceof ArrayBuffer && buffer.byteLength > Buffer.poolSize) buffer.transfer(0);
}

const countsOf = (summary: LogSummary): UploadCounts => ({
  rows: summary.rows,
  rowsKept: summary.rowsKept,
  rowsRejected: summary.rows - summary.rowsKept,
  rowsRejectedBy: summary.rowsRejectedBy,
  valuesRejectedBy: summary.valuesRejectedBy,
});
