import { stat, unlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { TallybayError } from '@tallybay/contracts';
import { errnoOf } from './file-problem.js';
import { GenerationLock } from './generation-lock.js';

const IDLE_RELEASE_MS = 100;
const RETRY_EVERY_MS = 5;
/** After giving the lease away on request, leave it to the others for so long. */
const STEP_BACK_MS = 20;
const GIVE_UP_AFTER_MS = 10_000;

/**
 * The right to append to one partition, held by one process at a time while it is busy. Another process that wants it
 * leaves a file `writer-wanted`, and the holder gives way after its current sync.
 */
export class WriterLease {
  private readonly lock: GenerationLock;
  private readonly wantedPath: string;
  private idle: NodeJS.Timeout | undefined;
  private releasing: Promise<void> | undefined;

  /** `onRelease` runs before the lease is given up: what is known about the file's end must be forgotten by then. */
  constructor(
    private readonly directory: string,
    private readonly onRelease: () => Promise<void>,
  ) {
    this.lock = new GenerationLock(directory, 'writer-lock');
    this.wantedPath = join(directory, 'writer-wanted');
  }

  /** @throws TallybayError `stream_unavailable` when another process keeps it too long */
  async take(): Promise<void> {
    clearTimeout(this.idle);
    await this.releasing;
    const giveUpAt = Date.now() + GIVE_UP_AFTER_MS;
    while (!(await this.lock.tryAcquire())) {
      if (Date.now() > giveUpAt) throw await this.stillTaken();
      await writeFile(this.wantedPath, '');
      await sleep(RETRY_EVERY_MS);
    }
  }

  async yieldIfWanted(): Promise<void> {
    if (!this.lock.held || !(await this.isWanted())) return;
    await this.release();
    await sleep(STEP_BACK_MS);
  }

  releaseWhenIdle(): void {
    clearTimeout(this.idle);
    this.idle = setTimeout(() => {
      // A failing release leaves the lock to this process, which is alive: others wait, nothing is written twice.
      this.releasing = this.release().catch(() => {});
    }, IDLE_RELEASE_MS);
  }

  async close(): Promise<void> {
    clearTimeout(this.idle);
    await this.releasing;
    await this.release();
  }

  private async release(): Promise<void> {
    if (!this.lock.held) return;
    await this.onRelease();
    await this.lock.release();
  }

  private async isWanted(): Promise<boolean> {
    try {
      await stat(this.wantedPath);
      await unlink(this.wantedPath);
      return true;
    } catch (error) {
      if (errnoOf(error) === 'ENOENT') return false;
      throw error;
    }
  }

  private async stillTaken(): Promise<TallybayError> {
    const pid = (await this.lock.holder())?.pid ?? 'unknown';
    return new TallybayError(
      'stream_unavailable',
      `Process ${pid} has been writing to ${this.directory} for more than ${GIVE_UP_AFTER_MS / 1000} s`,
      { advice: 'Look whether that process hangs.', place: { file: this.directory } },
    );
  }
}
