import type { Registry, UploadPatch } from '@tallybay/registry';

/** Writes decode progress to the registry a few times a second, not once a chunk. */
export class ProgressBook {
  private readonly counts = new Map<string, { chunks: number; decoded: number }>();
  private readonly begun = new Set<string>();
  private readonly dirty = new Set<string>();
  private readonly timer: NodeJS.Timeout;
  private writing: Promise<void> = Promise.resolve();

  constructor(
    private readonly registry: Registry,
    private readonly onProblem: (error: unknown) => void,
    intervalMs = 400,
  ) {
    this.timer = setInterval(() => {
      // A registry that is away costs a display its freshness, nothing else; the next round writes what is new then.
      this.writing = this.writing.then(() => this.flush()).catch(this.onProblem);
    }, intervalMs);
    this.timer.unref();
  }

  /** So many of the upload's `chunks` have been decoded. */
  reached(uploadId: string, decoded: number, chunks: number): void {
    this.counts.set(uploadId, { chunks, decoded });
    this.dirty.add(uploadId);
  }

  /** The upload's final row is about to be written, or its decode was dropped: no late progress may follow. */
  async forget(uploadId: string): Promise<void> {
    this.counts.delete(uploadId);
    this.dirty.delete(uploadId);
    this.begun.delete(uploadId);
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
    if (patches.size === 0) return;
    await this.registry.uploads.updateMany(patches);
    for (const uploadId of patches.keys()) await this.begin(uploadId);
  }

  /** Only from `queued`: what is still `landed` must stay so until the last of its chunks is on the stream. */
  private async begin(uploadId: string): Promise<void> {
    if (this.begun.has(uploadId) || !this.counts.has(uploadId)) return;
    if (await this.registry.uploads.transition(uploadId, ['queued'], 'decoding')) this.begun.add(uploadId);
  }
}
