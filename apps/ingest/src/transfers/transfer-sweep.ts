import type { SweepLog } from '../uploads/landed-sweep.js';
import type { Transfers } from './transfers.js';

const EVERY_MS = 15 * 60_000;

/** Drops abandoned transfers now and then, so that their bytes do not fill the disk. */
export class TransferSweep {
  private timer: NodeJS.Timeout | null = null;
  private running: Promise<void> = Promise.resolve();

  constructor(
    private readonly transfers: Pick<Transfers, 'sweep'>,
    private readonly log: SweepLog,
  ) {}

  start(): void {
    const pass = () => {
      this.running = this.running.then(() => this.pass());
    };
    pass();
    this.timer = setInterval(pass, EVERY_MS);
    this.timer.unref();
  }

  async stop(): Promise<void> {
    if (this.timer) clearInterval(this.timer);
    await this.running;
  }

  /** Never rejects: what did not work is tried at the next pass. */
  private async pass(): Promise<void> {
    try {
      const dropped = await this.transfers.sweep();
      if (dropped.length > 0) this.log.info({ transfers: dropped }, 'abandoned transfers were dropped');
    } catch (error) {
      this.log.warn({ err: error }, 'abandoned transfers could not be looked for; tried again later');
    }
  }
}
