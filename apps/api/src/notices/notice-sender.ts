import { classifyError, type NoticeSettings } from '@tallybay/contracts';
import type { Notice, NoticeWay, Registry } from '@tallybay/registry';
import type { Logger } from 'pino';
import type { ShopReader } from '../plan/shop-reader.js';
import { isHeld } from './quiet-hours.js';

export interface Mail {
  to: readonly string[];
  subject: string;
  text: string;
}

export interface SenderParts {
  registry: Registry;
  shop: ShopReader;
  log: Logger;
  /** Null where no mail server is set. */
  mail: ((mail: Mail) => Promise<void>) | null;
  post: (url: string, body: unknown) => Promise<void>;
}

/** Tells notices onward: all that are waiting as one message, not in quiet hours. What could not be told is tried again. */
export class NoticeSender {
  constructor(private readonly parts: SenderParts) {}

  async send(): Promise<void> {
    const settings = await this.parts.shop.notices();
    await this.way('webhook', settings, (notices) => this.call(settings, notices));
    await this.way('mail', settings, (notices) => this.write(settings, notices));
  }

  private async way(
    way: NoticeWay,
    settings: NoticeSettings,
    tell: (notices: readonly Notice[]) => Promise<void>,
  ): Promise<void> {
    const { registry, shop, log } = this.parts;
    const waiting = await registry.notices.untold(way);
    const oldest = waiting[0];
    const zone = await shop.zoneOf();
    if (!oldest || isHeld(way, settings, { nowMs: shop.nowMs(), oldestMs: oldest.atMs, zone })) return;
    try {
      await tell(waiting);
      await registry.notices.told(
        way,
        waiting.map(({ id }) => id),
      );
    } catch (thrown) {
      const { message } = classifyError(thrown);
      log.warn({ way, detail: message, notices: waiting.length }, 'notices could not be told; tried again');
    }
  }

  private async call({ webhook }: NoticeSettings, notices: readonly Notice[]): Promise<void> {
    if (webhook === null) return;
    const list = notices.map(({ id, kind, vehicle, words, link, atMs }) => ({
      ...{ id, kind, vehicle, words, link, at: new Date(atMs).toISOString() },
    }));
    await this.parts.post(webhook, { kind: 'notices', notices: list });
  }

  /** Without a server or a reader there is nobody to write to: the notices stand on the page. */
  private async write({ mailTo }: NoticeSettings, notices: readonly Notice[]): Promise<void> {
    const { mail } = this.parts;
    if (!mail || mailTo.length === 0) return;
    const subject =
      notices.length === 1 ? `Tallybay: ${notices[0]!.words.slice(0, 120)}` : `Tallybay: ${notices.length} notices`;
    const text = `${notices.map(({ words }) => `- ${words}`).join('\n')}\n\nTallybay ranks work for the shop; it clears no vehicle as safe to drive.\n`;
    await mail({ to: mailTo, subject, text });
  }
}
