import {
  classifyError,
  type LogParameters,
  PROBLEMS,
  type ProblemCode,
  type ProblemDocument,
  TallybayError,
} from '@tallybay/contracts';
import type { ServiceClient } from '../service/client.js';
import { isWorthRetrying, type RetryPolicy, withRetries } from '../service/retry.js';
import type { FoundFile } from './collect.js';
import { type Delivery, deliver, findDelivered } from './delivery.js';
import type { Journal } from './journal.js';
import { type Parcel, parcelsOf } from './parcel.js';

export interface UploadItem {
  file: FoundFile;
  /** How the file is called in messages. */
  label: string;
  parameters: LogParameters;
}

/**
 * `sent` the service took it now; `there` it had these bytes before; `waits` it has them but needs a vehicle or a time;
 * `refused` it will not take them; `failed` they could not be delivered; `skipped` the file is nothing to send.
 */
export type Outcome = 'sent' | 'there' | 'waits' | 'refused' | 'failed' | 'skipped';

export interface UploadResult {
  item: UploadItem;
  outcome: Outcome;
  deliveries: Delivery[];
  problem: ProblemDocument | null;
  exitCode: number;
  /** Nobody answered for an earlier file, so this one was not even tried. */
  untried?: boolean;
}

export interface UploadWatcher {
  /** `sentBytes` of this item so far; falls back to 0 when a try failed. */
  advanced(item: UploadItem, sentBytes: number): void;
  retrying(item: UploadItem, error: TallybayError, delayMs: number): void;
  finished(result: UploadResult): void;
}

export interface UploaderOptions {
  client: ServiceClient;
  journal: Journal;
  retry: RetryPolicy;
  parallel: number;
  /** Every file is a snapshot, whatever it looks like. */
  snapshotsOnly?: boolean;
  signal: AbortSignal;
  now: () => Date;
}

/** Brings files to the service, some at a time, each at most once, and says what became of each. */
export class Uploader {
  /** Set when nobody answers in spite of retries: the rest is not even tried. */
  private outage: TallybayError | null = null;

  constructor(private readonly options: UploaderOptions) {}

  /** Results in the order of `items`; never rejects for a single file's sake. */
  async upload(items: readonly UploadItem[], watcher: UploadWatcher): Promise<UploadResult[]> {
    const results: UploadResult[] = [];
    let next = 0;
    this.outage = null;
    const work = async (): Promise<void> => {
      for (let index = next++; index < items.length && !this.options.signal.aborted; index = next++) {
        const item = items[index]!;
        const result = await this.one(item, watcher);
        // Cut off by Ctrl-C: neither delivered nor at fault.
        if (this.options.signal.aborted && result.outcome === 'failed') return;
        results[index] = result;
        // After an outage the rest is not tried: one message is enough.
        if (!result.untried) watcher.finished(result);
      }
    };
    await Promise.all(Array.from({ length: Math.max(1, this.options.parallel) }, work));
    return results.filter((result) => result !== undefined);
  }

  private async one(item: UploadItem, watcher: UploadWatcher): Promise<UploadResult> {
    if (this.outage) return { ...failureOf(item, this.outage), untried: true };
    try {
      const known = this.options.journal.find(item.file);
      if (known?.outcome === 'acknowledged') {
        const there = await this.allThere(known.sha256, item, watcher);
        if (there) return resultOf(item, there);
      }
      return await this.send(item, watcher);
    } catch (error) {
      const problem = classifyError(error);
      if (isWorthRetrying(problem)) this.outage = problem;
      return failureOf(item, problem);
    }
  }

  private async send(item: UploadItem, watcher: UploadWatcher): Promise<UploadResult> {
    const parcels = await parcelsOf(item, this.options.snapshotsOnly ?? false);
    if (parcels === null) return { item, outcome: 'skipped', deliveries: [], problem: null, exitCode: 0 };
    const deliveries: Delivery[] = [];
    try {
      for (const parcel of parcels) deliveries.push(await this.deliverOnce(parcel, item, watcher));
    } catch (error) {
      const problem = classifyError(error);
      if (!isWorthRetrying(problem)) await this.note(item, parcels, { outcome: 'refused', reason: problem.message });
      throw problem;
    }
    await this.note(item, parcels, { outcome: 'acknowledged', ids: deliveries.map((delivery) => delivery.id) });
    return resultOf(item, deliveries);
  }

  private deliverOnce(parcel: Parcel, item: UploadItem, watcher: UploadWatcher): Promise<Delivery> {
    return this.persist(item, watcher, async () => {
      // Asking by hash first spares the card's slow line a transfer that would end in "seen before".
      const there = await findDelivered(this.options.client, parcel.sha256);
      if (there) return there;
      return deliver(this.options.client, parcel, (bytes) => watcher.advanced(item, bytes));
    });
  }

  private async allThere(hashes: string[], item: UploadItem, watcher: UploadWatcher): Promise<Delivery[] | null> {
    const found: Delivery[] = [];
    for (const sha256 of hashes) {
      const there = await this.persist(item, watcher, () => findDelivered(this.options.client, sha256));
      if (!there) return null;
      found.push(there);
    }
    return found;
  }

  private persist<T>(item: UploadItem, watcher: UploadWatcher, action: () => Promise<T>): Promise<T> {
    return withRetries(action, this.options.retry, {
      signal: this.options.signal,
      onRetry: (error, delayMs) => {
        watcher.advanced(item, 0);
        watcher.retrying(item, error, delayMs);
      },
    });
  }

  private note(
    item: UploadItem,
    parcels: Parcel[],
    rest: { outcome: 'acknowledged' | 'refused'; ids?: string[]; reason?: string },
  ): Promise<void> {
    const { path, size, mtimeMs } = item.file;
    const at = this.options.now().toISOString();
    return this.options.journal.record({
      path,
      size,
      mtimeMs,
      sha256: parcels.map((one) => one.sha256),
      ids: [],
      at,
      ...rest,
    });
  }
}

function resultOf(item: UploadItem, deliveries: Delivery[]): UploadResult {
  const problem = deliveries.find((delivery) => delivery.problem)?.problem ?? null;
  const outcome = deliveries.some((one) => one.state === 'waiting')
    ? 'waits'
    : deliveries.every((one) => one.duplicate)
      ? 'there'
      : 'sent';
  return { item, outcome, deliveries, problem, exitCode: problem ? exitCodeOf(problem) : 0 };
}

function failureOf(item: UploadItem, error: TallybayError): UploadResult {
  const outcome = isWorthRetrying(error) || error.code === 'internal' ? 'failed' : 'refused';
  return { item, outcome, deliveries: [], problem: error.toDocument(), exitCode: error.problem.exitCode };
}

const exitCodeOf = (problem: ProblemDocument): number =>
  problem.code in PROBLEMS ? PROBLEMS[problem.code as ProblemCode].exitCode : PROBLEMS.internal.exitCode;
