import { noticeSettingsSchema } from '@tallybay/contracts';
import { openRegistry } from '@tallybay/registry';
import { DateTime } from 'luxon';
import { pino } from 'pino';
import { describe, expect, it, onTestFinished } from 'vitest';
import { NoticeSender } from '../../../../../apps/api/src/notices/notice-sender.js';
import { isQuiet } from '../../../../../apps/api/src/notices/quiet-hours.js';
import { smtpMailer } from '../../../../../apps/api/src/notices/smtp.js';
import { ShopReader } from '../../../../../apps/api/src/plan/shop-reader.js';
import { EditedSettings } from '../../../../../apps/api/src/settings/edited-settings.js';
import { type MailServer, startMailServer } from '../../../../service/mail-server.js';

const ZONE = 'America/Denver';
const at = (text: string) => DateTime.fromISO(text, { zone: ZONE }).toMillis();

async function mailServer(): Promise<MailServer> {
  const server = await startMailServer();
  onTestFinished(() => server.close());
  return server;
}

async function desk(start: string, mailUrl: string) {
  let now = at(start);
  const registry = await openRegistry({ kind: 'sqlite', file: ':memory:', nowMs: () => now });
  onTestFinished(() => registry.close());
  await registry.depots.upsert({ id: 'north', name: 'Northgate', timeZone: ZONE });
  const shop = new ShopReader(registry, new EditedSettings(registry), () => now);
  const posted: unknown[] = [];
  const mail = smtpMailer({ url: mailUrl, from: 'shop@kestrel-valley.example' });
  const post = async (_url: string, body: unknown) => void posted.push(body);
  const sender = new NoticeSender({ registry, shop, log: pino({ level: 'silent' }), mail, post });
  const settings = (change: object) =>
    registry.settings.put(
      'notices',
      noticeSettingsSchema.parse({ mailTo: ['lead@kestrel-valley.example'], ...change }),
    );
  const add = (id: string, words: string) =>
    registry.notices.add([{ id, kind: 'limit_crossed', vehicle: 'KV-1', words, link: null }]);
  return { registry, sender, posted, settings, add, clock: (text: string) => (now = at(text)) };
}

describe('notices', () => {
  it('are held back in quiet hours, which may span midnight, by the clock of the depot', () => {
    const quiet = { from: '20:00', to: '06:00' };
    expect(
      ['2026-11-02T19:59', '2026-11-02T20:00', '2026-11-03T05:59', '2026-11-03T06:00'].map((text) =>
        isQuiet(at(text), ZONE, quiet),
      ),
    ).toEqual([false, true, true, false]);
    expect(isQuiet(at('2026-11-02T12:30'), ZONE, { from: '12:00', to: '13:00' })).toBe(true);
    expect(isQuiet(at('2026-11-02T23:00'), ZONE, null)).toBe(false);
  });

  it('go out as one mail for all that came in some minutes, not at night, and once', async () => {
    const server = await mailServer();
    const { sender, settings, add, clock } = await desk('2026-11-02T21:00', server.url);
    await settings({ groupMinutes: 15 });
    await add('a', 'KV-1: coolant above 110 °C (alarm) for 14 min');
    clock('2026-11-02T21:30');
    await sender.send();
    expect(server.mails).toEqual([]);
    await add('b', 'KV-2: nothing has arrived since 2026-10-20');
    clock('2026-11-03T06:00');
    await sender.send();
    await sender.send();
    expect(server.mails).toHaveLength(1);
    expect(server.mails[0]).toMatch(/Subject: Tallybay: 2 notices/);
    expect(server.mails[0]).toMatch(/KV-2: nothing has arrived/);
    // A new one waits for its group.
    await add('c', 'KV-3 is 2 of 2026-W44');
    clock('2026-11-03T06:14');
    await sender.send();
    expect(server.mails).toHaveLength(1);
    clock('2026-11-03T06:15');
    await sender.send();
    expect(server.mails[1]).toMatch(/Subject: Tallybay: KV-3 is 2/);
  });

  it('are told again when the mail server refuses, and the webhook hears of them meanwhile', async () => {
    const server = await mailServer();
    const { sender, settings, add, posted, registry } = await desk('2026-11-02T10:00', server.url);
    await settings({ groupMinutes: 0, webhook: 'http://hook.example/' });
    await add('a', 'KV-1: coolant above 110 °C');
    server.refuse(true);
    await sender.send();
    expect(posted).toMatchObject([{ kind: 'notices', notices: [{ id: 'a', vehicle: 'KV-1' }] }]);
    expect(await registry.notices.untold('mail')).toHaveLength(1);
    server.refuse(false);
    await sender.send();
    expect(server.mails).toHaveLength(1);
    expect(posted).toHaveLength(1);
  });
});
