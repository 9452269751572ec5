import { classifyError, TallybayError } from '@tallybay/contracts';
import { Cron } from 'croner';
import type { Logger } from 'pino';
import type { WeeklyJob } from './weekly-job.js';

/** How often late uploads are looked for between the weekly runs. */
const LATE_DATA_PATTERN = '17 * * * *';

export interface ScheduleParts {
  job: WeeklyJob;
  log: Logger;
  nowMs(): number;
  /** Zone of the first depot; asked again every hour, as depots may be registered or moved. */
  timeZone(): Promise<string>;
}

/** When the job runs by itself: at start (catching up), by its pattern, and every hour for data that came late. */
export class RankingSchedule {
  private crons: Cron[] = [];
  private timezone: string | null = null;
  private running: Promise<void> = Promise.resolve();
  private stopped = false;

  constructor(
    private readonly parts: ScheduleParts,
    private readonly pattern: string,
  ) {}

  async start(): Promise<void> {
    await this.follow();
    void this.catchUp();
  }

  /** No new run starts; one that is under way may finish. */
  async stop(): Promise<void> {
    this.stopped = true;
    for (const cron of this.crons) cron.stop();
    await this.running;
  }

  /** Ranks everything that is due, one after the other. Never rejects: what went wrong is logged and due again next time. */
  catchUp(): Promise<void> {
    this.running = this.running.then(() => this.rankDue());
    return this.running;
  }

  /** Keeps the pattern in the zone that is in force. */
  private async follow(): Promise<void> {
    const timezone = await this.parts.timeZone();
    if (this.stopped || timezone === this.timezone) return;
    this.timezone = timezone;
    for (const cron of this.crons) cron.stop();
    this.crons = [this.pattern, LATE_DATA_PATTERN].map(
      (pattern) => new Cron(pattern, { timezone }, () => this.catchUp()),
    );
    const next = this.crons[0]?.nextRun()?.toISOString() ?? null;
    this.parts.log.info({ pattern: this.pattern, timezone, next }, 'weekly ranking is scheduled');
  }

  private async rankDue(): Promise<void> {
    const { job, log, nowMs } = this.parts;
    try {
      await this.follow();
      for (const week of await job.due(nowMs())) {
        if (this.stopped) return;
        const { ranking, published } = await job.run(week, nowMs());
        const { revision, ranked, unranked } = ranking;
        log.info({ week, revision, published, ranked: ranked.length, unranked: unranked.length }, 'week ranked');
      }
    } catch (error) {
      if (error instanceof TallybayError && error.code === 'job_running')
        log.info('another process is ranking; what is left is done at the next time');
      else
        log.error(
          { err: error, code: classifyError(error).code },
          'ranking failed; it is tried again at the next time',
        );
    }
  }
}
