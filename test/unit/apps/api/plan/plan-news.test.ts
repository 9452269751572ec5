import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { noticeSettingsSchema, type StreamEvent, TOPICS } from '@tallybay/contracts';
import { openRegistry, type Registry } from '@tallybay/registry';
import { openStream, streamConfigSchema } from '@tallybay/stream';
import { pino } from 'pino';
import { describe, expect, it, onTestFinished } from 'vitest';
import { PlanNews, type PlanNewsParts } from '../../../../../apps/api/src/plan/plan-news.js';
import { ShopReader } from '../../../../../apps/api/src/plan/shop-reader.js';
import { EditedSettings } from '../../../../../apps/api/src/settings/edited-settings.js';

const log = pino({ level: 'silent' });
const away = async () => {
  throw new Error('the process ended here');
};

async function home() {
  const directory = await mkdtemp(join(tmpdir(), 'tallybay-plan-news-'));
  const stream = await openStream(streamConfigSchema.parse({ kind: 'spool', directory: join(directory, 'spool') }), {});
  await stream.prepare();
  const open: Registry[] = [];
  onTestFinished(async () => {
    for (const registry of open) await registry.close();
    await stream.close();
    await rm(directory, { recursive: true, force: true });
  });
  /** What a process opens when it starts. */
  const start = async (parts: Partial<PlanNewsParts>) => {
    const registry = await openRegistry({ kind: 'sqlite', file: join(directory, 'registry.sqlite') });
    open.push(registry);
    const shop = new ShopReader(registry, new EditedSettings(registry), Date.now);
    const producer = () => stream.producer();
    const news = new PlanNews({ registry, shop, producer, log, post: away, ...parts });
    return { registry, news };
  };
  const events = async () =>
    (await stream.browse(TOPICS.events, 100)).map(
      ({ value }) => JSON.parse(Buffer.from(value).toString()) as StreamEvent,
    );
  return { start, events };
}

const VISIT = {
  ...{ vehicle: 'KV-1', vehicleClass: 'van', depot: 'north', bay: 'bay-1', day: '2026-11-24', lastDay: '2026-11-24' },
  ...{ minutes: 90, person: 'ada', parts: [{ day: '2026-11-24', fromMinute: 480, minutes: 90 }] },
  ...{ note: null, findings: null, used: [], inspections: [] },
};
const PLAN = { boardVersion: 0, created: [VISIT], moved: [], removed: [], report: null, by: 'ada' };

describe('a changed visit', () => {
  it('is read back from the events topic, once, and waits no more', async () => {
    const { start, events } = await home();
    const { registry, news } = await start({});
    const { visits } = await registry.work.applyPlan(PLAN);
    await news.tell();
    await news.tell();
    expect(await events()).toMatchObject([
      { kind: 'visit_changed', visit: visits[0]!.id, vehicleId: 'KV-1', state: 'proposed', version: 1 },
    ]);
    expect(await registry.visitNews.waiting('stream')).toEqual([]);
    // Nobody wants to hear of it at a webhook.
    expect(await registry.visitNews.waiting('webhook')).toEqual([]);
  });

  it('is told by the next process when this one ends between the change and the stream', async () => {
    const { start, events } = await home();
    const first = await start({ producer: away });
    const { visits } = await first.registry.work.applyPlan(PLAN);
    await first.news.tell();
    await first.news.close();
    expect(await events()).toEqual([]);
    const second = await start({});
    await second.news.tell();
    expect(await events()).toMatchObject([{ visit: visits[0]!.id, version: 1 }]);
  });

  it('is told again when the process ends after the stream has it and before that is noted', async () => {
    const { start, events } = await home();
    const first = await start({});
    await first.registry.work.applyPlan(PLAN);
    first.registry.visitNews.told = away;
    await first.news.tell();
    await first.news.close();
    const second = await start({});
    await second.news.tell();
    const versions = (await events()).map((event) => event.kind === 'visit_changed' && [event.visit, event.version]);
    expect(versions).toHaveLength(2);
    expect(versions[0]).toEqual(versions[1]);
  });

  it('reaches the stream while the webhook is away, and the webhook when it is back, in order', async () => {
    const { start, events } = await home();
    const posted: { visits: { version: number }[] }[] = [];
    let up = false;
    const post = async (_url: string, body: unknown) => (up ? void posted.push(body as never) : away());
    const { registry, news } = await start({ post });
    const settings = { webhook: 'http://hook.example/', quiet: null, groupMinutes: 0 };
    await registry.settings.put('notices', noticeSettingsSchema.parse(settings));
    const { visits } = await registry.work.applyPlan(PLAN);
    await news.tell();
    await registry.work.change({ id: visits[0]!.id, change: { state: 'booked' } }, 'ada');
    await news.tell();
    expect(await events()).toHaveLength(2);
    up = true;
    await news.tell();
    expect(posted.flatMap(({ visits: list }) => list.map(({ version }) => version))).toEqual([1, 2]);
    await news.close();
  });
});
