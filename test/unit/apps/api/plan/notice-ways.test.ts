import { mkdtemp, rm } from 'node:fs/promises';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type FleetReadiness, type NoticeKind, noticeSettingsSchema, type Ranking } from '@tallybay/contracts';
import { initLake, publishRanking } from '@tallybay/lake';
import { openRegistry } from '@tallybay/registry';
import { DEFAULT_RULES } from '@tallybay/risk';
import { pino } from 'pino';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { NoticeGatherer } from '../../../../../apps/api/src/notices/notice-gatherer.js';
import { NoticeSender } from '../../../../../apps/api/src/notices/notice-sender.js';
import { NoticesController } from '../../../../../apps/api/src/notices/notices.controller.js';
import { postJson } from '../../../../../apps/api/src/notices/post-json.js';
import { smtpMailer } from '../../../../../apps/api/src/notices/smtp.js';
import { PlanNews } from '../../../../../apps/api/src/plan/plan-news.js';
import { ShopReader } from '../../../../../apps/api/src/plan/shop-reader.js';
import { EditedSettings } from '../../../../../apps/api/src/settings/edited-settings.js';
import { startMailServer } from '../../../../service/mail-server.js';
import { putRows } from '../../../libs/lake/lake-builder.js';

/** Every kind with what its notice must say; all of them come about at 21:00, in quiet hours. */
const KINDS: Record<Exclude<NoticeKind, 'plan_changed'>, RegExp> = {
  limit_crossed: /KV-2: coolant_temp_c above 230 °F \(alarm\) for 2 min, worst 114.3/,
  entered_top: /KV-5 is 1 of 2026-W47; it was not ranked the week before/,
  verdict_changed: /KV-1: its emissions inspection, due on 2026-12-01, would fail; before, it would pass/,
  upload_overdue: /KV-3: nothing has arrived since 2026-10-14/,
};
const QUIET = Date.UTC(2026, 10, 23, 21);
const MORNING = Date.UTC(2026, 10, 24, 6);
const log = pino({ level: 'silent' });

interface Told {
  page: string;
  mail: string;
  webhook: string;
}
/** What each way had said by which time. */
const told: Record<'quiet' | 'morning' | 'later', Told> = {} as never;
let planAtNight: { held: string; not: string };
const end: (() => unknown)[] = [];

beforeAll(async () => {
  const lakeDirectory = await mkdtemp(join(tmpdir(), 'tallybay-ways-'));
  end.push(() => rm(lakeDirectory, { recursive: true, force: true }));
  initLake(lakeDirectory);
  let now = QUIET;
  const registry = await openRegistry({ kind: 'sqlite', file: ':memory:', nowMs: () => now });
  end.push(() => registry.close());
  const mail = await startMailServer();
  end.push(() => mail.close());
  const calls: string[] = [];
  const hook = createServer((request, response) => {
    const parts: Buffer[] = [];
    request.on('data', (part: Buffer) => parts.push(part));
    request.on('end', () => {
      calls.push(Buffer.concat(parts).toString());
      response.end();
    });
  });
  await new Promise<void>((resolve) => hook.listen(0, '127.0.0.1', resolve));
  end.push(() => new Promise((resolve) => hook.close(resolve)));
  const webhook = `http://127.0.0.1:${(hook.address() as AddressInfo).port}/`;
  const settings = (change: object) =>
    registry.settings.put(
      'notices',
      noticeSettingsSchema.parse({ webhook, mailTo: ['lead@kestrel-valley.example'], ...change }),
    );
  await settings({});
  await registry.depots.upsert({ id: 'north', name: 'North', timeZone: 'UTC' });
  await registry.vehicles.upsert({ id: 'KV-3', vehicleClass: 'van', depot: 'north' } as never);

  const shop = new ShopReader(registry, new EditedSettings(registry), () => now);
  let verdict = 'would_pass';
  const read = async () => readinessOf(verdict);
  const gatherer = new NoticeGatherer({
    ...{ registry, shop, lakeDirectory, readiness: { read } as never, rules: async () => DEFAULT_RULES },
  });
  const mailer = smtpMailer({ url: mail.url, from: 'shop@kestrel-valley.example' });
  const sender = new NoticeSender({ registry, shop, log, mail: mailer, post: postJson });
  await gatherer.gather();
  verdict = 'would_fail';
  await publishRanking(lakeDirectory, rankingOf('2026-W47', ['KV-5']));
  putRows(lakeDirectory, 'crossings', { vehicle: 'KV-2', upload: 'u1' }, [CROSSING]);
  putRows(lakeDirectory, 'snapshots', { vehicle: 'KV-3', upload: 'u2' }, [{ time: Date.UTC(2026, 9, 14) }]);
  await gatherer.gather();

  const page = new NoticesController(registry);
  const snapshot = async (): Promise<Told> => ({
    page: JSON.stringify(await page.list({})),
    // Lines of quoted-printable text (RFC 2045, 6.7) joined, and what is not ASCII written out.
    mail: mail.mails.join('\n').replaceAll('=\r\n', '').replaceAll('=C2=B0', '°'),
    webhook: calls.join('\n'),
  });
  await sender.send();
  told.quiet = await snapshot();
  now = MORNING;
  await sender.send();
  told.morning = await snapshot();
  now += 3_600_000;
  await gatherer.gather();
  await sender.send();
  told.later = await snapshot();

  const producer = async () => ({ send: async () => {}, close: async () => {} });
  const news = new PlanNews({ registry, shop, producer, log, post: postJson });
  now = QUIET;
  const visit = {
    ...{ vehicle: 'KV-1', vehicleClass: 'van', depot: 'north', bay: 'b', day: '2026-11-24', lastDay: '2026-11-24' },
    ...{ minutes: 60, person: null, parts: [], note: null, findings: null, used: [], inspections: [] },
  };
  const plan = { boardVersion: 0, created: [visit], moved: [], removed: [], report: null, by: null };
  await registry.work.applyPlan(plan);
  calls.length = 0;
  await news.tell();
  const held = calls.join('\n');
  // Set for a system and not a person, the webhook hears at once.
  await settings({ held: ['mail'] });
  await news.tell();
  planAtNight = { held, not: calls.join('\n') };
});

afterAll(async () => {
  for (const close of end.reverse()) await close();
});

describe.each(Object.entries(KINDS))('a notice of %s', (_kind, words) => {
  it('stands on the page at once', () => {
    expect(told.quiet.page).toMatch(words);
  });

  it.each(['mail', 'webhook'] as const)('comes by %s after the quiet hours, once', (way) => {
    expect(told.quiet[way]).toBe('');
    expect(told.morning[way]).toMatch(words);
    expect(told.later[way]).toBe(told.morning[way]);
  });
});

describe('a changed visit', () => {
  it('waits for the morning at a webhook that people hear, and comes at once where the setting says so', () => {
    expect(planAtNight.held).toBe('');
    expect(JSON.parse(planAtNight.not)).toMatchObject({ kind: 'plan_changed', visits: [{ vehicleId: 'KV-1' }] });
  });
});

it('all of them come as one message each way', () => {
  expect(told.morning.mail.match(/^Subject: .*$/gm)).toEqual(['Subject: Tallybay: 4 notices']);
  expect(
    JSON.parse(told.morning.webhook)
      .notices.map(({ kind }: { kind: string }) => kind)
      .sort(),
  ).toEqual(Object.keys(KINDS).sort());
});

const CROSSING = {
  ...{ crossing_id: 'c1', signal: 'coolant_temp_c', direction: 'high', stage: 'alarm', worst: 114.25, seconds: 120 },
  ...{
    limit_value: 110,
    written: '230 °F',
    started_at: Date.UTC(2026, 10, 20, 9),
    worst_at: Date.UTC(2026, 10, 20, 9),
  },
  ended_at: Date.UTC(2026, 10, 20, 9, 2),
};

const readinessOf = (verdict: string) =>
  ({
    vehicles: [
      {
        ...{ vehicle: 'KV-1', vehicleClass: 'van', depot: 'north', inspectionDue: '2026-12-01', dueInDays: 8 },
        newestSnapshot: null,
        verdicts: [{ programme: DEFAULT_RULES.readiness.programme, verdict, blocking: [], why: [] }],
      },
    ],
  }) as unknown as FleetReadiness;

const part = { score: 0, state: 'ok' as const, note: null };
const rankingOf = (week: string, order: string[]): Ranking => ({
  ...{ week, timeZone: 'UTC', from: '2026-11-16T00:00:00Z', to: '2026-11-23T00:00:00Z', revision: 1 },
  ...{ provisional: false, ruleVersion: 'r', unranked: [], changes: [], caution: '' },
  ranked: order.map((vehicle, index) => ({
    ...{ rank: index + 1, vehicle, vehicleClass: 'van', depot: 'north', score: 1, heat: part, codes: part },
    ...{ readiness: part, change: { rank: null, score: null }, inputs: {}, reasons: [] },
    coverage: { share: 1, engineHours: 3, distanceKm: 20, drives: 2, snapshots: 1 },
  })),
});
