import { classifyError, TOPICS } from '@tallybay/contracts';
import { listRankings } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { eventMessage, type StreamProducer } from '@tallybay/stream';
import type { Logger } from 'pino';
import { z } from 'zod';
import { Telling } from '../news/telling.js';

/** Week -> newest revision that has been announced, kept with the registry's other settings. */
const ANNOUNCED = 'rankings.announced';
const announcedSchema = z.record(z.string(), z.number());

export interface RankingNewsParts {
  registry: Registry;
  lakeDirectory: string;
  producer(): Promise<StreamProducer>;
  log: Logger;
  nowMs(): number;
}

/**
 * Tells other systems of published rankings, on the events topic. What has been told is remembered only after the stream
 * has it, so a ranking that was published while the stream was away, or just before a crash, is told later.
 */
export class RankingNews {
  private readonly telling = new Telling(() => this.tellAll());

  constructor(private readonly parts: RankingNewsParts) {}

  /** Tells whatever has not been told. Never rejects: a stream that is away is tried again. */
  tell(): Promise<void> {
    return this.telling.tell();
  }

  close(): Promise<void> {
    return this.telling.close();
  }

  private async tellAll(): Promise<boolean> {
    const { registry, lakeDirectory, producer, log, nowMs } = this.parts;
    try {
      const known = await registry.settings.get(ANNOUNCED);
      const announced = announcedSchema.safeParse(known?.document ?? {}).data ?? {};
      const news = (await listRankings(lakeDirectory))
        .filter(({ week, revision }) => revision > (announced[week] ?? 0))
        .sort((a, b) => a.week.localeCompare(b.week) || a.revision - b.revision);
      if (news.length === 0) return true;
      const at = new Date(nowMs()).toISOString();
      const stream = await producer();
      for (const { week, revision } of news) {
        await stream.send(TOPICS.events, [eventMessage({ kind: 'ranking_published', at, week, revision })]);
        announced[week] = Math.max(announced[week] ?? 0, revision);
      }
      await registry.settings.put(ANNOUNCED, announced);
      return true;
    } catch (thrown) {
      const error = classifyError(thrown);
      log.warn({ code: error.code, detail: error.message }, 'a published ranking could not be announced; tried again');
      return false;
    }
  }
}
