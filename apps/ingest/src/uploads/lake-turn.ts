import { randomUUID } from 'node:crypto';
import { setTimeout as pause } from 'node:timers/promises';
import { TallybayError } from '@tallybay/contracts';
import { readyForDecode } from '@tallybay/lake';
import { LAKE_UPKEEP_JOB, LAKE_UPKEEP_LEASE_MS, type Registry } from '@tallybay/registry';

const POLL_MS = 50;
/** A killed holder's lease has ended by then. */
const PATIENCE_MS = 2 * LAKE_UPKEEP_LEASE_MS;

/** Marks uploads to be decoded again while upkeep leaves the lake's files alone, with files of their own that count. */
export class LakeTurn {
  private turn: Promise<unknown> = Promise.resolve();

  constructor(
    private readonly lake: string,
    private readonly registry: Pick<Registry, 'jobs'>,
  ) {}

  /** @throws TallybayError `job_running` when upkeep does not let go; what `mark` throws */
  mark<T>(upload: { id: string; vehicle: string | null }, mark: () => Promise<T>): Promise<T> {
    const work = this.turn.then(() => this.exclusively(upload, mark));
    this.turn = work.catch(() => {});
    return work;
  }

  private async exclusively<T>(upload: { id: string; vehicle: string | null }, mark: () => Promise<T>): Promise<T> {
    const { jobs } = this.registry;
    const owner = randomUUID();
    const untilMs = performance.now() + PATIENCE_MS;
    while (!(await jobs.acquire(LAKE_UPKEEP_JOB, owner, LAKE_UPKEEP_LEASE_MS))) {
      if (performance.now() > untilMs)
        throw new TallybayError('job_running', 'The lake is being tidied', { advice: 'Try again in a minute.' });
      await pause(POLL_MS);
    }
    const renewing = setInterval(() => {
      jobs.renew(LAKE_UPKEEP_JOB, owner, LAKE_UPKEEP_LEASE_MS).catch(() => {});
    }, LAKE_UPKEEP_LEASE_MS / 3);
    try {
      if (upload.vehicle !== null) await readyForDecode(this.lake, { vehicleId: upload.vehicle, uploadId: upload.id });
      return await mark();
    } finally {
      clearInterval(renewing);
      await jobs.release(LAKE_UPKEEP_JOB, owner);
    }
  }
}
