import { classifyError } from '@tallybay/contracts';
import type { Logger } from 'pino';

/** Older than this, who asks starts a new copy in the background. */
const FRESH_MS = 30_000;
/** Older than this, who wants a recent one waits for it. */
const TOO_OLD_MS = 600_000;

/** `now`: of what is known at this moment; `recent`: of a few minutes ago at most; `any`: whatever there is. */
export type Wanted = 'now' | 'recent' | 'any';

/** Something that is written anew when it is asked for and no longer fresh, by one writer at a time. */
export class Copy {
  private madeAtMs: number | null = null;
  private making: Promise<void> | null = null;

  constructor(
    private readonly parts: { log: Logger; nowMs: () => number },
    private readonly write: () => Promise<void>,
  ) {}

  /** What was known when the newest copy was begun is in it [epoch ms]; null before the first. */
  get asOfMs(): number | null {
    return this.madeAtMs;
  }

  /** Resolves when there is a copy as it is wanted. @throws what the writer throws, if it had to be waited for */
  async refresh(wanted: Wanted): Promise<void> {
    if (wanted === 'now') {
      // One that is under way may have read before the caller's last edit.
      await this.making?.catch(() => {});
      return this.make();
    }
    const ageMs = this.parts.nowMs() - (this.madeAtMs ?? Number.NEGATIVE_INFINITY);
    if (ageMs < FRESH_MS) return;
    const made = this.make();
    if (wanted === 'recent' && ageMs > TOO_OLD_MS) return made;
    made.catch((error) =>
      this.parts.log.warn({ code: classifyError(error).code, err: error }, 'reference tables could not be written'),
    );
  }

  private make(): Promise<void> {
    this.making ??= this.once().finally(() => {
      this.making = null;
    });
    return this.making;
  }

  private async once(): Promise<void> {
    const startedMs = this.parts.nowMs();
    await this.write();
    this.madeAtMs = startedMs;
  }
}
