import { classifyError, TOPICS } from '@tallybay/contracts';
import type { Registry, VisitEvent, VisitNewsWay, WaitingEvent } from '@tallybay/registry';
import { eventMessage, type StreamProducer } from '@tallybay/stream';
import type { Logger } from 'pino';
import { Telling } from '../news/telling.js';
import { isHeld } from '../notices/quiet-hours.js';
import type { ShopReader } from './shop-reader.js';

export interface PlanNewsParts {
  registry: Registry;
  shop: ShopReader;
  producer(): Promise<StreamProducer>;
  log: Logger;
  /** Sends one JSON document to the webhook. */
  post(url: string, body: unknown): Promise<void>;
}

/**
 * Tells other systems of changed visits: one event each on the events topic, one call of the webhook for all of
 * them, which quiet hours hold as they hold notices. The
 * registry holds each change until it is told, so that a crash or a stream that is away loses none; one may come twice.
 */
export class PlanNews {
  private readonly telling = new Telling(() => this.tellAll());

  constructor(private readonly parts: PlanNewsParts) {}

  /** Tells whatever has not been told. Never rejects: the plan stands whether or not anybody hears of it yet. */
  tell(): Promise<void> {
    return this.telling.tell();
  }

  close(): Promise<void> {
    return this.telling.close();
  }

  private async tellAll(): Promise<boolean> {
    const told = await Promise.all([
      this.way('stream', (waiting) => this.send(waiting)),
      this.way('webhook', (waiting) => this.call(waiting)),
    ]);
    return told.every(Boolean);
  }

  /** @param tell false = they wait on. @returns false where it failed and has to be tried again */
  private async way(way: VisitNewsWay, tell: (waiting: readonly WaitingEvent[]) => Promise<boolean>): Promise<boolean> {
    const { visitNews } = this.parts.registry;
    try {
      for (;;) {
        const waiting = await visitNews.waiting(way);
        if (waiting.length === 0 || !(await tell(waiting))) return true;
        await visitNews.told(way, eventsOf(waiting));
      }
    } catch (thrown) {
      const { code, message } = classifyError(thrown);
      this.parts.log.warn({ way, code, detail: message }, 'changed visits could not be told; tried again');
      return false;
    }
  }

  private async send(waiting: readonly WaitingEvent[]): Promise<boolean> {
    const stream = await this.parts.producer();
    await stream.send(TOPICS.events, eventsOf(waiting).map(eventMessage));
    return true;
  }

  /** Without an address, or where nobody wants to hear of the plan, there is nobody to tell. */
  private async call(waiting: readonly WaitingEvent[]): Promise<boolean> {
    const { shop, post } = this.parts;
    const settings = await shop.notices();
    const { webhook, kinds } = settings;
    if (webhook === null || !kinds.includes('plan_changed')) return true;
    const at = { nowMs: shop.nowMs(), oldestMs: waiting[0]!.atMs, zone: await shop.zoneOf() };
    if (isHeld('webhook', settings, at)) return false;
    await post(webhook, { kind: 'plan_changed', visits: eventsOf(waiting) });
    return true;
  }
}

const eventsOf = (waiting: readonly WaitingEvent[]): VisitEvent[] => waiting.map(({ event }) => event);
