import { classifyError } from '@tallybay/contracts';
import type { Registry, UploadRow } from '@tallybay/registry';
import type { Publisher } from '../receive/publisher.js';

const EVERY_MS = 5_000;

export interface SweepLog {
  info(fields: object, message: string): void;
  warn(fields: object, message: string): void;
}

/**
 * Whatever stays `landed` may be only partly on the stream: its receiver died, the stream was away, or many uploads are to
 * be decoded again. Such uploads are sent, one after the other; those that another process is sending are left to it.
 */
export class LandedSweep {
  private timer: NodeJS.Timeout | null = null;
  private running: Promise<void> = Promise.resolve();
  private seen = new Map<string, number>();
  private stopped = false;

  constructor(
    private readonly registry: Registry,
    private readonly publisher: Publisher,
    private readonly log: SweepLog,
  ) {}

  /** The first pass takes everything: whoever landed it before this start may be gone. */
  start(): void {
    this.soon(true);
    this.timer = setInterval(() => this.soon(), EVERY_MS);
    this.timer.unref();
  }

  /** A pass as soon as the one under way has ended. `at once`: also uploads that were landed just now. */
  soon(atOnce = false): void {
    this.running = this.running.then(() => this.pass(atOnce));
  }

  async stop(): Promise<void> {
    this.stopped = true;
    if (this.timer) clearInterval(this.timer);
    await this.running;
  }

  /** Never rejects: what did not work is tried at the next pass. */
  private async pass(atOnce: boolean): Promise<void> {
    try {
      const landed = await this.registry.uploads.withState('landed');
      const before = this.seen;
      this.seen = new Map(landed.map((upload) => [upload.id, upload.attempt]));
      for (const upload of landed) {
        if (this.stopped) return;
        // What was not here at the last pass is probably being sent by the process that received it.
        if (!atOnce && before.get(upload.id) !== upload.attempt) continue;
        if (!this.publisher.isSending(upload)) await this.send(upload);
      }
    } catch (thrown) {
      const error = classifyError(thrown);
      this.log.warn({ code: error.code, detail: error.message }, 'landed uploads could not be sent; tried again soon');
    }
  }

  /** What is wrong with one upload is noted in its row; what is wrong with the stream ends the pass. */
  private async send(upload: UploadRow): Promise<void> {
    try {
      if (await this.publisher.adopt(upload))
        this.log.info({ uploadId: upload.id }, 'an upload that was landed but not on the stream has been sent');
    } catch (thrown) {
      const error = classifyError(thrown);
      if (error.problem.disposition === 'retry') throw error;
      this.log.warn({ uploadId: upload.id, code: error.code, detail: error.message }, 'a landed upload cannot be sent');
    }
  }
}
