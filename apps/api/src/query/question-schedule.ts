import { classifyError, type Question, TallybayError } from '@tallybay/contracts';
import type { Registry } from '@tallybay/registry';
import { Cron } from 'croner';
import type { Logger } from 'pino';
import type { KeptAnswers } from './kept-answers.js';

const EVERY_MINUTE = '* * * * *';
const DAILY = '41 3 * * *';
/** Longer than any process's clock may be off, and than a minute. */
const LEASE_MS = 10 * 60_000;

/** @throws TallybayError `body_invalid` unless it is a cron pattern of five fields in a zone that exists */
export function mustBeSchedule({ pattern, timeZone }: { pattern: string; timeZone: string }): void {
  try {
    if (pattern.trim().split(/\s+/).length !== 5)
      throw new Error('a pattern has five fields: minute hour day month weekday');
    new Cron(pattern, { timezone: timeZone, paused: true }).nextRun();
  } catch (error) {
    throw new TallybayError('body_invalid', `schedule "${pattern}" in ${timeZone}: ${(error as Error).message}`, {
      advice: 'Give a pattern such as "0 6 * * 1" and a zone such as America/Denver.',
      place: { field: 'schedule' },
    });
  }
}

/** Runs saved questions when they are due, each once in however many processes there are, as their owner. */
export class QuestionSchedule {
  private crons: Cron[] = [];
  private running: Promise<unknown> = Promise.resolve();

  constructor(
    private readonly parts: {
      registry: Registry;
      answers: KeptAnswers;
      log: Logger;
      owner: string;
      nowMs: () => number;
    },
  ) {}

  start(): void {
    const tick = () => {
      this.running = this.running.then(() => this.runDue(this.parts.nowMs()));
      return this.running as Promise<void>;
    };
    const sweep = () => this.parts.answers.sweep().then(() => {});
    this.crons = [
      new Cron(EVERY_MINUTE, { catch: (error) => this.parts.log.error({ err: error }, 'scheduled questions') }, tick),
      new Cron(DAILY, { catch: (error) => this.parts.log.error({ err: error }, 'kept answers') }, sweep),
    ];
  }

  async stop(): Promise<void> {
    for (const cron of this.crons) cron.stop();
    await this.running;
  }

  /** Runs what is due in the minute of this instant. @returns how many were run here */
  async runDue(nowMs: number): Promise<number> {
    const minuteMs = Math.floor(nowMs / 60_000) * 60_000;
    let count = 0;
    for (const question of await this.parts.registry.questions.list())
      if (isDue(question, minuteMs) && (await this.take(question, minuteMs))) {
        await this.run(question);
        count++;
      }
    return count;
  }

  private take(question: Question, minuteMs: number): Promise<boolean> {
    return this.parts.registry.jobs.acquire(`question ${question.id} ${minuteMs}`, this.parts.owner, LEASE_MS);
  }

  private async run(question: Question): Promise<void> {
    const { answers, log } = this.parts;
    try {
      const { sql, parameters, name } = question;
      const result = await answers.keep({ sql, parameters, name, fresh: true }, question.owner, question.id);
      log.info(
        { question: question.id, result: result.id, rows: result.rows, problem: result.problem },
        'question run',
      );
    } catch (error) {
      log.error({ question: question.id, err: error, code: classifyError(error).code }, 'question could not be run');
    }
  }
}

const isDue = ({ schedule }: Question, minuteMs: number): boolean =>
  schedule != null &&
  new Cron(schedule.pattern, { timezone: schedule.timeZone, paused: true }).match(new Date(minuteMs));
