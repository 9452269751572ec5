import { TallybayError } from '@tallybay/contracts';

/** Uploads that are arriving now. At a stop they may end; no new ones begin. */
export class UnderWay {
  private count = 0;
  private closed = false;
  private whenIdle: (() => void) | null = null;

  /** @throws TallybayError `service_stopping` once `drain` was called */
  async during<T>(work: () => Promise<T>): Promise<T> {
    if (this.closed)
      throw new TallybayError('service_stopping', 'This process is stopping and takes nothing new', {
        advice: 'Send it again; another process, or this one after its restart, takes it.',
      });
    this.count++;
    try {
      return await work();
    } finally {
      this.count--;
      if (this.count === 0) this.whenIdle?.();
    }
  }

  /** Waits for what is under way, at most `withinMs`. @returns how many were cut off */
  async drain(withinMs: number): Promise<number> {
    this.closed = true;
    if (this.count === 0) return 0;
    let timer: NodeJS.Timeout | undefined;
    await Promise.race([
      new Promise<void>((resolve) => {
        this.whenIdle = resolve;
      }),
      new Promise<void>((resolve) => {
        timer = setTimeout(resolve, withinMs);
      }),
    ]);
    clearTimeout(timer);
    return this.count;
  }
}
