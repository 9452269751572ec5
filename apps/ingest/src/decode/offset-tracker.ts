/**
 * Which offset may be committed when several uploads interleave in one partition: everything below the first message of
 * the oldest upload still open. Pure bookkeeping, one instance for the time of one assignment.
 */
export class OffsetTracker {
  private readonly openSince = new Map<string, bigint>();
  private next: bigint | null = null;

  /** A message of `key` (an upload's attempt) has arrived and must not be committed before `done(key)`. */
  seen(key: string, offset: bigint): void {
    if (!this.openSince.has(key)) this.openSince.set(key, offset);
    this.next = offset + 1n;
  }

  /** A message has arrived that nothing waits for. */
  passed(offset: bigint): void {
    this.next = offset + 1n;
  }

  /** All of it is durable, or deliberately set aside. */
  done(key: string): void {
    this.openSince.delete(key);
  }

  /** The next offset to be read after a restart, or null before the first message. */
  get committable(): bigint | null {
    let lowest: bigint | null = null;
    for (const offset of this.openSince.values()) if (lowest === null || offset < lowest) lowest = offset;
    return lowest ?? this.next;
  }
}
