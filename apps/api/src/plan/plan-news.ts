import { classifyError, type StreamEvent, TOPICS } from '@tallybay/contracts';
import { clockOfMinutes } from '@tallybay/plan';
import type { StoredVisit } from '@tallybay/registry';
import { eventMessage, type StreamProducer } from '@tallybay/stream';
import type { Logger } from 'pino';
import type { ShopReader } from './shop-reader.js';

type VisitEvent = Extract<StreamEvent, { kind: 'visit_changed' }>;

export interface PlanNewsParts {
  shop: ShopReader;
  producer(): Promise<StreamProducer>;
  log: Logger;
  /** Sends one JSON document to the webhook. */
  post(url: string, body: unknown): Promise<void>;
}

/** Tells other systems of changed visits: one event each on the events topic, one call of the webhook for all of them. */
export class PlanNews {
  private running: Promise<void> = Promise.resolve();

  constructor(private readonly parts: PlanNewsParts) {}

  /** Never rejects: the plan stands whether or not anybody hears of it; what could not be told is in the log. */
  tell(visits: readonly StoredVisit[]): Promise<void> {
    if (visits.length > 0) this.running = this.running.then(() => this.tellNow(visits));
    return this.running;
  }

  private async tellNow(visits: readonly StoredVisit[]): Promise<void> {
    const events = visits.map((visit) => eventOf(visit, this.parts.shop.nowMs()));
    await Promise.all([this.tellStream(events), this.tellWebhook(events)]);
  }

  private async tellStream(events: readonly VisitEvent[]): Promise<void> {
    const { producer, log } = this.parts;
    try {
      const stream = await producer();
      await stream.send(TOPICS.events, events.map(eventMessage));
    } catch (thrown) {
      const { code, message } = classifyError(thrown);
      log.warn({ code, detail: message, visits: events.length }, 'changed visits could not be told to the stream');
    }
  }

  private async tellWebhook(events: readonly VisitEvent[]): Promise<void> {
    const { shop, log, post } = this.parts;
    try {
      const { webhook, kinds } = await shop.notices();
      if (webhook !== null && kinds.includes('plan_changed'))
        await post(webhook, { kind: 'plan_changed', visits: events });
    } catch (thrown) {
      const { message } = classifyError(thrown);
      log.warn({ detail: message, visits: events.length }, 'changed visits could not be told to the webhook');
    }
  }
}

export const eventOf = (visit: StoredVisit, nowMs: number): VisitEvent => ({
  ...{ kind: 'visit_changed', at: new Date(nowMs).toISOString(), visit: visit.id, vehicleId: visit.vehicle },
  ...{ depot: visit.depot, bay: visit.bay, day: visit.day, from: clockOfMinutes(visit.parts[0]?.fromMinute ?? 0) },
  ...{ state: visit.state, cancelled: visit.cancelledAtMs !== null, version: visit.version },
});
