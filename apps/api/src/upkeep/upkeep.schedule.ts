import { classifyError } from '@tallybay/contracts';
import { LAKE_UPKEEP_JOB, LAKE_UPKEEP_LEASE_MS, type Registry } from '@tallybay/registry';
import { Cron } from 'croner';
import type { Logger } from 'pino';
import type { LakeUpkeeper } from './lake-upkeep.js';

const HOURLY = '41 * * * *';

export interface UpkeepScheduleParts {
  registry: Registry;
  upkeeper: LakeUpkeeper;
  owner: string;
  log: Logger;
}

/** A round every hour, in one process at a time. */
export class UpkeepSchedule {
  private cron: Cron | null = null;
  private running: Promise<void> = Promise.resolve();

  constructor(private readonly parts: UpkeepScheduleParts) {}

  start(): void {
    this.cron = new Cron(HOURLY, { unref: true }, () => this.run());
  }

  async stop(): Promise<void> {
    this.cron?.stop();
    await this.running;
  }

  /** Never rejects: what went wrong is logged and due again next time. */
  run(): Promise<void> {
    this.running = this.running.then(() => this.round());
    return this.running;
  }

  private async round(): Promise<void> {
    const { registry, upkeeper, owner, log } = this.parts;
    try {
      if (!(await registry.jobs.acquire(LAKE_UPKEEP_JOB, owner, LAKE_UPKEEP_LEASE_MS))) return;
      const renewing = setInterval(() => {
        registry.jobs.renew(LAKE_UPKEEP_JOB, owner, LAKE_UPKEEP_LEASE_MS).catch(() => {});
      }, LAKE_UPKEEP_LEASE_MS / 3);
      try {
        log.info({ ...(await upkeeper.round()) }, 'the lake was tidied');
      } finally {
        clearInterval(renewing);
        await registry.jobs.release(LAKE_UPKEEP_JOB, owner);
      }
    } catch (thrown) {
      const { code, message } = classifyError(thrown);
      log.warn({ code, detail: message }, 'the lake was not tidied; tried again at the next time');
    }
  }
}
