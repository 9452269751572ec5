import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { CODES_FLEET, NOW_MS, putCodesFleet } from '../../integration/api/codes-fleet.js';
import { startApi } from '../../unit/apps/api/test-api.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const PHONE = { width: 390, height: 844 };

let url: string;
let browser: Browser;
const ends: (() => unknown)[] = [];
beforeAll(async () => {
  const api = await startApi(
    {},
    () => NOW_MS,
    (work) => void ends.unshift(work),
  );
  await api.call('POST', '/v1/fleet', CODES_FLEET);
  putCodesFleet(api.runtime.config.lakeDirectory);
  await api.app.listen(0, '127.0.0.1');
  url = await api.app.getUrl();
  const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  ends.unshift(() => browser.close());
}, 120_000);
afterAll(async () => {
  for (const end of ends) await end();
});

async function open(path: string, options: Parameters<Browser['newPage']>[0] = {}): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 }, ...options });
  page.setDefaultTimeout(45_000);
  onTestFinished(() => page.close());
  await page.goto(url + path);
  await page.locator('h1').waitFor();
  return page;
}

const rows = (page: Page) => page.locator('table.list tbody tr:not(.spacer)');

/** Serious findings of axe, and how far the page is wider than its window. */
async function flaws(page: Page) {
  await page.waitForLoadState('networkidle');
  await page.evaluate(AXE);
  const found = await page.evaluate(async () => {
    type Finding = { id: string; impact: string | null; nodes: { html: string }[] };
    const { axe } = window as unknown as { axe: { run(): Promise<{ violations: Finding[] }> } };
    return (await axe.run()).violations
      .filter(({ impact }) => impact === 'serious' || impact === 'critical')
      .map(({ id, nodes }) => `${id}: ${nodes[0]?.html}`);
  });
  const wider = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
  return { found, wider: Math.max(0, wider) };
}

describe('the fleet’s codes', () => {
  it('show the code that returns, where it is, and the patterns; the keyboard opens and closes it', async () => {
    const page = await open('/codes');
    await rows(page).first().waitFor();
    expect(await rows(page).first().textContent()).toContain('P0420');
    const text = (await page.locator('main').textContent()) ?? '';
    expect(text).toContain('P0420 was cleared 4 times and was back each time, not yet after the last one');
    expect(text).toContain('7.0 times as often');
    expect(text).toContain('5 new vehicles in');
    await page.getByRole('link', { name: 'P0420', exact: true }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Where P0420 is' }).waitFor();
    await expect.poll(() => page.evaluate(() => document.activeElement?.id)).toBe('code-title');
    expect(await page.locator('.code-detail').textContent()).toContain('14 days after it was last seen');
    expect(page.url()).toContain('code=P0420');
    await page.getByRole('button', { name: 'Close' }).press('Enter');
    await expect.poll(() => page.locator('.code-detail').count()).toBe(0);
  });

  it('filter by class, by what is present now and by words; nothing found is said', async () => {
    const page = await open('/codes?show=now');
    await rows(page).first().waitFor();
    expect(await page.getByRole('link', { name: 'P0420', exact: true }).count()).toBe(0);
    await page.getByLabel('Class', { exact: true }).selectOption('diesel');
    await page.getByText('No codes in 8 vehicles that were read.').waitFor();
    await page.getByLabel('Class', { exact: true }).selectOption('');
    await page.getByLabel('Find code, word or vehicle').fill('nothing like it');
    await page.getByText('No code fits these filters').waitFor();
  });

  it('say what failed, and what to do', async () => {
    const page = await browser.newPage();
    onTestFinished(() => page.close());
    await page.route('**/v1/codes*', (route) => route.abort());
    await page.goto(`${url}/codes`);
    await page.getByText('The Tallybay server does not answer').waitFor();
    await page.getByRole('button', { name: 'Try again' }).waitFor();
  });
});

describe('readiness', () => {
  it('shows hidden clears in the list, and opens a vehicle until its inspection', async () => {
    const page = await open('/readiness');
    await rows(page).first().waitFor();
    expect(await rows(page).first().textContent()).toContain('cleared lately');
    await page.getByRole('link', { name: /More about KV-310/ }).click();
    await page.getByRole('heading', { name: 'KV-310 until its inspection' }).waitFor();
    const panel = (await page.locator('.forecast-panel').textContent()) ?? '';
    expect(panel).toContain('likely complete');
    expect(panel).toContain('a longer steady drive with the exhaust hot');
    expect(panel).toContain('Drive as usual and read the monitors again');
    expect(await page.locator('.caution-line').first().textContent()).toContain('programme decides');
  });
});

describe('both pages', () => {
  it.each(['/codes?code=P0420', '/readiness?vehicle=KV-310'])(
    'have no serious finding of axe and fit their window, a phone’s too: %s',
    async (path) => {
      expect(await flaws(await open(path, { viewport: PHONE }))).toEqual({ found: [], wider: 0 });
      expect(await flaws(await open(path, { colorScheme: 'dark' }))).toEqual({ found: [], wider: 0 });
    },
  );
});
