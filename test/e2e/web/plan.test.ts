import { readFileSync } from 'node:fs';
import { mkdtemp, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { InspectionKind, Shop, ShopPlanView } from '@tallybay/contracts';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { ApiProcess } from '../../service/api-process.js';
import { dayAhead, FLEET, SHOP } from '../../service/small-shop.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
let home: string;
let api: ApiProcess;
let browser: Browser;
let page: Page;

const send = (method: string, path: string, body: unknown) =>
  fetch(`${api.url}${path}`, { method, headers: { 'content-type': 'application/json' }, body: JSON.stringify(body) });
const board = async () => (await (await fetch(`${api.url}/v1/plan`)).json()) as ShopPlanView;
const visitOf = async (vehicle: string) => (await board()).visits.find((visit) => visit.vehicle === vehicle);
const card = (vehicle: string) => page.locator('.visit', { hasText: vehicle });
const cell = (bay: string, day: string) => page.locator(`td[data-bay="${bay}"][data-day="${day}"]`);

async function seriousFindings(): Promise<unknown[]> {
  await page.evaluate(AXE);
  const found = await page.evaluate(async () => {
    const { axe } = window as unknown as {
      axe: { run(): Promise<{ violations: { id: string; impact: string; nodes: { html: string }[] }[] }> };
    };
    return (await axe.run()).violations.map(({ id, impact, nodes }) => ({ id, impact, html: nodes[0]?.html }));
  });
  return found.filter(({ impact }) => impact === 'serious' || impact === 'critical');
}

beforeAll(async () => {
  home = await mkdtemp(join(tmpdir(), 'tallybay-plan-page-'));
  api = await ApiProcess.start(home, 'http://127.0.0.1:9');
  await send('POST', '/v1/fleet', FLEET);
  await send('PUT', '/v1/settings/shop', SHOP);
  const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  page = await browser.newPage({ viewport: { width: 1440, height: 1000 } });
  page.setDefaultTimeout(30_000);
  await page.goto(`${api.url}/plan`);
}, 120_000);
afterAll(async () => {
  await browser?.close();
  await api?.stop();
  await rm(home, { recursive: true, force: true });
});

describe('the maintenance planner at the plan', () => {
  it('plans: every vehicle gets a visit, and the page says how good the plan is', async () => {
    await page.getByLabel('Your name').fill('Ada');
    await page.getByRole('button', { name: 'Plan now' }).click();
    await expect.poll(async () => (await board()).visits.length, { timeout: 60_000 }).toBe(4);
    await card('KV-4').waitFor();
    await page.getByText('No plan could be better.').waitFor();
    expect((await visitOf('KV-4'))?.updatedBy).toBe('Ada');
  });

  it('sees at once where a visit fits and why not elsewhere; moves it by keyboard', async () => {
    await card('KV-1').focus();
    await page.keyboard.press('Enter');
    await page.locator('.visit-panel').getByRole('link', { name: 'Codes and readiness' }).first().waitFor();
    await cell('north-1', dayAhead(2)).getByText('Well Day').waitFor();
    await cell('south-1', dayAhead(3)).getByText('sends no vehicles').waitFor();
    const button = cell('north-1', dayAhead(5)).getByRole('button', { name: /^Move here: KV-1 to North 1/ });
    await button.focus();
    await page.keyboard.press('Enter');
    await expect.poll(async () => (await visitOf('KV-1'))?.day).toBe(dayAhead(5));
    await page.getByText(/KV-1 is now in North 1/).waitFor();
    expect(await visitOf('KV-1')).toMatchObject({ pinned: true, updatedBy: 'Ada' });
  });

  it('moves a visit by dragging it', async () => {
    await card('KV-1').hover();
    await page.mouse.down();
    const target = (await cell('north-1', dayAhead(6)).boundingBox())!;
    await page.mouse.move(target.x + 20, target.y + 20, { steps: 4 });
    await expect.poll(() => cell('north-1', dayAhead(6)).getAttribute('class')).toContain('fits');
    await page.mouse.move(target.x + 24, target.y + 24, { steps: 2 });
    await page.mouse.up();
    await expect.poll(async () => (await visitOf('KV-1'))?.day).toBe(dayAhead(6));
  });

  it('has nothing serious for axe in either theme', async () => {
    for (const colorScheme of ['light', 'dark'] as const) {
      await page.emulateMedia({ colorScheme });
      expect(await seriousFindings()).toEqual([]);
    }
  });

  it('lets a pinned visit go again, takes one through the bay to done, and tells of a change by somebody else', async () => {
    await page.getByRole('button', { name: 'Let it move again' }).click();
    await expect.poll(async () => (await visitOf('KV-1'))?.pinned).toBe(false);
    // Somebody else changes the visit while this page shows the old one.
    const { id } = (await visitOf('KV-1'))!;
    await page.getByRole('button', { name: 'Pin here' }).waitFor();
    await send('POST', `/v1/plan/visits/${id}/book`, {});
    await page.getByRole('button', { name: 'Pin here' }).click();
    await page.getByText('Somebody else changed this first').waitFor();
    await page.getByRole('button', { name: 'It is in the bay' }).click();
    await expect.poll(async () => (await visitOf('KV-1'))?.state).toBe('in_the_bay');
    await page.getByText('Finish', { exact: true }).click();
    await page.getByLabel('What was found').fill('Cap was loose');
    await page.getByLabel('Parts fitted').fill('2 x hose clamp');
    await page.getByRole('button', { name: 'Done', exact: true }).click();
    await expect.poll(async () => (await visitOf('KV-1'))?.state).toBe('done');
    expect(await visitOf('KV-1')).toMatchObject({
      findings: 'Cap was loose',
      parts: [{ name: 'hose clamp', count: 2 }],
    });
  });
});

/** Field of an open row. */
const field = (label: string) => page.getByLabel(label, { exact: true });
const view = (name: string) => page.getByRole('navigation', { name: 'Tables' }).getByRole('link', { name });
const setting = async <T>(name: string) =>
  (await (await fetch(`${api.url}/v1/settings/${name}`)).json()) as { document: T; version: number };

const TABLES = [
  ...['Inspections', 'Bays', 'People', 'Opening hours', 'Holidays'],
  ...['Vehicles', 'Travel', 'Planning rules', 'Notices'],
];

describe('the shop at its tables', () => {
  it('changes the hours of a kind and of a depot by keyboard, and the next plan uses both', async () => {
    await page.goto(`${api.url}/plan`);
    await page.getByRole('link', { name: /^Bays, people, hours/ }).click();
    await page.locator('summary', { hasText: 'Emissions inspection' }).focus();
    await page.keyboard.press('Enter');
    await field('Work in the bay [min]').fill('90');
    await page.getByText('1.5 h in the bay').waitFor();
    await view('Opening hours').click();
    // At first no time at all: an hour's field beside the message, and nothing is sent.
    await field('Closes, Mon, Depot south').fill('');
    await page.getByRole('button', { name: 'Save the shop' }).click();
    await page.getByText('1 field does not fit').waitFor();
    expect(await field('Closes, Mon, Depot south').getAttribute('aria-invalid')).toBe('true');
    // Then one that only the service refuses.
    await field('Closes, Mon, Depot south').fill('07:00');
    await page.getByRole('button', { name: 'Save the shop' }).click();
    await page.getByText('07:00 is not after 08:00').first().waitFor();
    await field('Closes, Mon, Depot south').fill('11:00');
    await page.getByRole('button', { name: /^Tuesday to Friday as Monday.*Depot south/ }).click();
    await page.getByRole('button', { name: 'Save the shop' }).click();
    await page.getByText('Saved: the shop.').waitFor();
    await page.getByRole('button', { name: 'Save the inspections' }).click();
    await page.getByText('Saved: the inspections.').waitFor();
    const kinds = (await setting<InspectionKind[]>('shop-kinds')).document;
    expect(kinds.find(({ id }) => id === 'emissions-inspection')?.minutes).toBe(90);
    expect((await setting<Shop>('shop')).document.hours).toContainEqual({
      ...{ depot: 'south', weekday: 5, from: '08:00', to: '11:00' },
    });
    await page.getByRole('link', { name: 'To the plan' }).click();
    await page.getByRole('button', { name: 'Plan now' }).click();
    await expect.poll(async () => (await visitOf('KV-4'))?.minutes, { timeout: 60_000 }).toBe(90);
    const open = (await board()).bays.find(({ id }) => id === 'south-1')!.days;
    expect(open.map(({ to }) => to)).toContain('11:00');
  });

  it('keeps both changes when somebody else saves first', async () => {
    await page.goto(`${api.url}/plan/shop?view=bays`);
    await page.getByText('North 1').click();
    await field('What it has').fill('pit, lift');
    const { document } = await setting<Shop>('shop');
    await send('PUT', '/v1/settings/shop', { ...document, travel: [{ from: 'north', to: 'south', minutes: 35 }] });
    await page.getByRole('button', { name: 'Save the shop' }).click();
    await page.getByText('saved another version while you were changing this one').waitFor();
    await page.getByRole('button', { name: 'Put my changes on theirs' }).click();
    await page.getByRole('button', { name: 'Save the shop' }).click();
    await page.getByText('Saved: the shop.').waitFor();
    const now = (await setting<Shop>('shop')).document;
    expect(now.travel).toHaveLength(1);
    expect(now.bays[0]?.features).toEqual(['pit', 'lift']);
  });

  it('has nothing serious for axe and no overflow in any table, also at phone width', async () => {
    for (const width of [1280, 390]) {
      await page.setViewportSize({ width, height: 900 });
      for (const name of TABLES) {
        await view(name).click();
        await page.getByRole('heading', { level: 2, name }).waitFor();
        if (await page.locator('summary').count()) await page.locator('summary').first().click();
        // The controls are the same at both widths; axe needs half a second for each.
        if (width === 390) expect(await seriousFindings()).toEqual([]);
        const over = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        expect([name, Math.max(0, over)]).toEqual([name, 0]);
      }
    }
  });
});
