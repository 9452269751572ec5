const RETRY_MS = 30_000;

/** One telling after the other; what could not be told is tried again by itself. */
export class Telling {
  private running: Promise<void> = Promise.resolve();
  private retry: NodeJS.Timeout | null = null;
  private closed = false;

  /** @param tellAll never rejects; false = something is left and has to be tried again */
  constructor(private readonly tellAll: () => Promise<boolean>) {}

  tell(): Promise<void> {
    this.running = this.running.then(() => this.tellNow());
    return this.running;
  }

  /** What is under way ends; what is left is told by the next start. */
  async close(): Promise<void> {
    this.closed = true;
    if (this.retry) clearTimeout(this.retry);
    await this.running;
  }

  private async tellNow(): Promise<void> {
    if (this.closed || (await this.tellAll()) || this.closed) return;
    if (this.retry) clearTimeout(this.retry);
    this.retry = setTimeout(() => void this.tell(), RETRY_MS);
    this.retry.unref();
  }
}
