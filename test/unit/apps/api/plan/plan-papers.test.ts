import { openRegistry } from '@tallybay/registry';
import { expect, it, onTestFinished } from 'vitest';
import { visitsCsv } from '../../../../../apps/api/src/plan/plan-papers.js';
import { PlanView } from '../../../../../apps/api/src/plan/plan-view.js';
import { ShopReader } from '../../../../../apps/api/src/plan/shop-reader.js';
import { EditedSettings } from '../../../../../apps/api/src/settings/edited-settings.js';
import { SHOP } from '../../../../service/small-shop.js';

/** Work from Friday to Monday, the weekend closed, and a short job before its end; a name that is none of HTML's. */
const LONG = {
  ...{ vehicle: 'KV-1 <b>', vehicleClass: 'van', depot: 'north', bay: 'north-1', minutes: 150, person: 'p-north' },
  ...{ day: '2026-11-27', lastDay: '2026-11-30', note: null, findings: null, used: [] },
  parts: [
    { day: '2026-11-27', fromMinute: 480, minutes: 90 },
    { day: '2026-11-30', fromMinute: 480, minutes: 60 },
  ],
  inspections: [{ id: 'i', kind: 'service', label: '=Service', why: ['Service after 365 days'] }],
};
const SHORT = {
  ...{ ...LONG, vehicle: 'KV-2', day: '2026-11-30', minutes: 30 },
  parts: [{ day: '2026-11-30', fromMinute: 540, minutes: 30 }],
};

it('the day sheet has each day’s own times of work that takes several, in order, and nothing on days between', async () => {
  const registry = await openRegistry({ kind: 'sqlite', file: ':memory:' });
  onTestFinished(() => registry.close());
  await registry.settings.put('shop', SHOP);
  await registry.depots.upsert({ id: 'north', name: 'North & East yard', timeZone: 'America/Denver' });
  const plan = { boardVersion: 0, created: [SHORT, LONG], moved: [], removed: [], report: null, by: null };
  await registry.work.applyPlan(plan);
  const view = new PlanView(registry, new ShopReader(registry, new EditedSettings(registry), Date.now));
  const heads = async (day: string) =>
    [...(await view.daySheet('north-1', day)).matchAll(/<h2>(.*?)<\/h2>/g)].map(([, head]) => head);
  expect(await heads('2026-11-27')).toEqual([
    '08:00 to 09:30: KV-1 &lt;b&gt; <small>van, proposed, until 2026-11-30</small>',
  ]);
  expect(await heads('2026-11-28')).toEqual([]);
  expect(await heads('2026-11-30')).toEqual([
    '08:00 to 09:00: KV-1 &lt;b&gt; <small>van, proposed, goes on since 2026-11-27</small>',
    '09:00 to 09:30: KV-2 <small>van, proposed</small>',
  ]);
  expect(await view.daySheet('north-1', '2026-11-30')).toContain('Works here: Person north.');
  expect(await view.daySheet('north-1', '2026-11-30')).toContain('<h1>North 1, North &amp; East yard: 2026-11-30</h1>');
  // RFC 4180: one line a visit, all of one number of cells; a formula of a spreadsheet is text.
  const rows = visitsCsv(await view.visits({}))
    .trimEnd()
    .split('\r\n');
  expect(rows).toHaveLength(3);
  expect(rows[1]).toContain("'=Service");
  expect(new Set(rows.map((row) => row.split(',').length)).size).toBe(1);
});
