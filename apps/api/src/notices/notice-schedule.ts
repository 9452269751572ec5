import { classifyError } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import { Cron } from 'croner';
import type { Logger } from 'pino';
import type { PlanNews } from '../plan/plan-news.js';
import type { NoticeGatherer } from './notice-gatherer.js';
import type { NoticeSender } from './notice-sender.js';

const GATHER = '*/10 * * * *';
const SEND = '* * * * *';
const JOB = 'notices';
const LEASE_MS = 120_000;

export interface NoticeScheduleParts {
  registry: Registry;
  gatherer: NoticeGatherer;
  sender: NoticeSender;
  /** Changed visits, of which some may have waited for the end of quiet hours. */
  planNews: Pick<PlanNews, 'tell'>;
  owner: string;
  log: Logger;
}

/** Looks for news every ten minutes and tells them every minute; one process at a time. */
export class NoticeSchedule {
  private crons: Cron[] = [];
  private running: Promise<void> = Promise.resolve();

  constructor(private readonly parts: NoticeScheduleParts) {}

  start(): void {
    const { gatherer, sender, planNews } = this.parts;
    const gather = async () => void (await gatherer.gather());
    this.crons = [
      new Cron(GATHER, { unref: true }, () => this.exclusively(gather)),
      new Cron(SEND, { unref: true }, () => this.exclusively(() => sender.send())),
      new Cron(SEND, { unref: true }, () => planNews.tell()),
    ];
  }

  async stop(): Promise<void> {
    for (const cron of this.crons) cron.stop();
    await this.running;
  }

  private exclusively(work: () => Promise<void>): Promise<void> {
    this.running = this.running.then(() => this.run(work));
    return this.running;
  }

  private async run(work: () => Promise<void>): Promise<void> {
    const { registry, owner, log } = this.parts;
    try {
      if (!(await registry.jobs.acquire(JOB, owner, LEASE_MS))) return;
      try {
        await work();
      } finally {
        await registry.jobs.release(JOB, owner);
      }
    } catch (thrown) {
      const { code, message } = classifyError(thrown);
      log.warn({ code, detail: message }, 'notices were not looked for or told; tried again');
    }
  }
}
