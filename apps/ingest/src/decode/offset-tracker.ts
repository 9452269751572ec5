/**
 * Which offset may be committed when several uploads interleave in one partition: everything below the first message of
 * the oldest upload still open. Pure bookkeeping, one instance a partition.
 */
export class OffsetTracker {
  private readonly openSince = new Map<string, bigint>();
  private next: bigint | null = null;

  /** A message of the upload has arrived. */
  seen(uploadId: string, offset: bigint): void {
    if (!this.openSince.has(uploadId)) this.openSince.set(uploadId, offset);
    this.next = offset + 1n;
  }

  /** All of the upload is durable, or deliberately set aside. */
  done(uploadId: string): void {
    this.openSince.delete(uploadId);
  }

  get open(): readonly string[] {
    return [...this.openSince.keys()];
  }

  /** The next offset to be read after a restart, or null before the first message. */
  get committable(): bigint | null {
    let lowest: bigint | null = null;
    for (const offset of this.openSince.values()) if (lowest === null || offset < lowest) lowest = offset;
    return lowest ?? this.next;
  }
}
