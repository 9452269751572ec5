import { sql } from 'kysely';
import type { RegistryDatabase } from './schema.js';

/** Held while files of the lake go in or out of use, and while an upload is marked to be decoded again. */
export const LAKE_UPKEEP_JOB = 'lake-upkeep';
export const LAKE_UPKEEP_LEASE_MS = 30_000;

export interface JobLease {
  owner: string;
  startedAtMs: number;
  expiresAtMs: number;
}

/** One week that a job has finished: the instants it spans and when that run began to read its input. */
export interface FinishedWeek {
  week: string;
  fromMs: number;
  /** Exclusive. */
  toMs: number;
  startedAtMs: number;
}

/**
 * Jobs that must not run twice at once, in however many processes. A lease ends by itself, so a killed process does not
 * block the job for ever; on PostgreSQL with several machines their clocks must agree to well within the lease.
 */
export class Jobs {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** @param owner unique to the run. @returns false while another owner's lease has not ended */
  async acquire(name: string, owner: string, leaseMs: number): Promise<boolean> {
    const now = this.nowMs();
    const lease = { owner, started_at_ms: now, expires_at_ms: now + leaseMs };
    const taken = await this.db
      .insertInto('job_leases')
      .values({ name, ...lease })
      .onConflict((conflict) => conflict.column('name').doUpdateSet(lease).where('job_leases.expires_at_ms', '<=', now))
      .returning('owner')
      .executeTakeFirst();
    return taken !== undefined;
  }

  /** @returns false when the lease was lost: the run must stop */
  async renew(name: string, owner: string, leaseMs: number): Promise<boolean> {
    const { numUpdatedRows } = await this.db
      .updateTable('job_leases')
      .set({ expires_at_ms: this.nowMs() + leaseMs })
      .where('name', '=', name)
      .where('owner', '=', owner)
      .executeTakeFirstOrThrow();
    return numUpdatedRows > 0n;
  }

  async release(name: string, owner: string): Promise<void> {
    await this.db.deleteFrom('job_leases').where('name', '=', name).where('owner', '=', owner).execute();
  }

  /** Who runs the job now, or null. */
  async holder(name: string): Promise<JobLease | null> {
    const row = await this.db
      .selectFrom('job_leases')
      .selectAll()
      .where('name', '=', name)
      .where('expires_at_ms', '>', this.nowMs())
      .executeTakeFirst();
    return row ? { owner: row.owner, startedAtMs: row.started_at_ms, expiresAtMs: row.expires_at_ms } : null;
  }

  /** Notes a finished week; a later run of the same week replaces the note. */
  async finishWeek(job: string, finished: FinishedWeek): Promise<void> {
    const row = { from_ms: finished.fromMs, to_ms: finished.toMs, started_at_ms: finished.startedAtMs };
    await this.db
      .insertInto('job_weeks')
      .values({ job, week: finished.week, ...row })
      .onConflict((conflict) => conflict.columns(['job', 'week']).doUpdateSet(row))
      .execute();
  }

  /** ISO weeks that are done, oldest first: with the weeks that have data, they tell what a start after downtime must catch up on. */
  async finishedWeeks(job: string): Promise<string[]> {
    const rows = await this.db.selectFrom('job_weeks').select('week').where('job', '=', job).orderBy('week').execute();
    return rows.map((row) => row.week);
  }

  /** Finished weeks, oldest first, for which an upload was stored after the run had begun to read: late data. */
  async weeksWithLateData(job: string): Promise<string[]> {
    const rows = await this.db
      .selectFrom('job_weeks as finished')
      .select('finished.week')
      .where('finished.job', '=', job)
      .where((where) =>
        where.exists(
          where
            .selectFrom('uploads as upload')
            .select(sql`1`.as('one'))
            .whereRef('upload.stored_at_ms', '>=', 'finished.started_at_ms')
            .whereRef('upload.last_at_ms', '>=', 'finished.from_ms')
            .whereRef('upload.first_at_ms', '<', 'finished.to_ms'),
        ),
      )
      .orderBy('finished.week')
      .execute();
    return rows.map((row) => row.week);
  }
}
