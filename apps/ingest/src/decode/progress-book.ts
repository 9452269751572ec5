import type { Registry, UploadPatch } from '@tallybay/registry';

/** Writes decode progress to the registry a few times a second, not once a chunk. */
export class ProgressBook {
  private readonly counts = new Map<string, { chunks: number; decoded: number }>();
  private readonly dirty = new Set<string>();
  private readonly timer: NodeJS.Timeout;
  private writing: Promise<void> = Promise.resolve();

  constructor(
    private readonly registry: Registry,
    intervalMs = 400,
  ) {
    this.timer = setInterval(() => {
      this.writing = this.writing.then(() => this.flush());
    }, intervalMs);
    this.timer.unref();
  }

  /** One more chunk of the upload's `chunks` has been decoded. */
  chunk(uploadId: string, chunks: number): void {
    this.counts.set(uploadId, { chunks, decoded: (this.counts.get(uploadId)?.decoded ?? 0) + 1 });
    this.dirty.add(uploadId);
  }

  /** The upload's final row is about to be written: no late progress may follow it. */
  async forget(uploadId: string): Promise<void> {
    this.counts.delete(uploadId);
    this.dirty.delete(uploadId);
    await this.writing;
  }

  close(): void {
    clearInterval(this.timer);
  }

  private async flush(): Promise<void> {
    const patches = new Map<string, UploadPatch>();
    for (const uploadId of this.dirty) {
      const progress = this.counts.get(uploadId);
      if (progress) patches.set(uploadId, { progress });
    }
    this.dirty.clear();
    if (patches.size > 0) await this.registry.uploads.updateMany(patches);
  }
}
