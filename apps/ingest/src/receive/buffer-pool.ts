/** Buffers kept for reuse: enough for a few senders at once. More would only hold memory. */
const KEPT = 16;

/** Chunk buffers of one size. Every log needs a new one each 768 KiB, which as garbage would keep the collector busy. */
export class BufferPool {
  private readonly free: Uint8Array[] = [];

  constructor(private readonly bytes: number) {}

  take(): Uint8Array {
    return this.free.pop() ?? Buffer.allocUnsafeSlow(this.bytes);
  }

  /** @param view any view of a buffer that came from here */
  give(view: Uint8Array): void {
    if (this.free.length < KEPT) this.free.push(new Uint8Array(view.buffer, 0, this.bytes));
  }
}
