import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Ranking } from '@tallybay/contracts';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { DemoService } from './demo-service.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const PLACES = ['/ranking', '/upload', '/readiness', '/limits', '/ranking-rules'];
/** Places whose findings of axe are looked for in files of their own. */
const OTHER_PLACES = ['/vehicles', '/recordings', '/plan', '/query'];
const SERIOUS = ['serious', 'critical'];

let demo: DemoService;
let browser: Browser;
beforeAll(async () => {
  demo = await DemoService.start();
  const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
}, 170_000);
afterAll(async () => {
  await browser?.close();
  await demo?.stop();
});

async function open(path: string, options: Parameters<Browser['newPage']>[0] = {}): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 }, ...options });
  page.setDefaultTimeout(15_000);
  onTestFinished(() => page.close());
  await page.goto(demo.url + path);
  await page.locator('h1').waitFor();
  return page;
}

async function inRoute(page: Page, route: string) {
  await page.getByLabel('Route').selectOption(route);
  return Promise.all([page.waitForEvent('download'), page.getByText('Save as CSV').click()]);
}

const fileState = (page: Page, text: string) => page.locator('.file-state', { hasText: text });
const rows = (page: Page) => page.locator('table.list tbody tr:not(.spacer)');

describe('the fleet manager', () => {
  it('sees who comes first and why, and finds one vehicle; the address keeps it', async () => {
    const page = await open('/');
    const first = rows(page).first();
    await first.waitFor();
    const vehicle = (await first.locator('.vehicle-link').textContent()) ?? '';
    await page.getByRole('heading', { name: `Why ${vehicle}` }).waitFor();
    expect(await page.locator('.why-sentences').textContent()).not.toBe('');
    expect(await page.locator('.caution-line').first().textContent()).toContain('does not clear any vehicle');
    const name = await rows(page).last().locator('.vehicle-link').textContent();
    await page.getByLabel('Find vehicle, code or word').fill(name ?? '');
    await expect.poll(() => rows(page).count()).toBe(1);
    expect(page.url()).toContain(`find=${name}`);
    await page.reload();
    await expect.poll(() => rows(page).count()).toBe(1);
  });

  it('goes to the week before and takes the list along as CSV', async () => {
    const page = await open('/ranking');
    const newest = await page.locator('h1').textContent();
    await page.locator('.week-strip a').first().click();
    await expect.poll(() => page.locator('h1').textContent()).not.toBe(newest);
    expect(page.url()).toMatch(/week=\d{4}-W\d{2}/);
    const [download] = await Promise.all([page.waitForEvent('download'), page.getByText('Save as CSV').click()]);
    const lines = readFileSync(await download.path(), 'utf8')
      .trim()
      .split('\r\n');
    expect(lines[0]).toMatch(/^week,revision,rank,vehicle/);
    expect(lines.length).toBeGreaterThan(await rows(page).count());
  });

  it('prints the list whole: no score, reason or name is cut', async () => {
    const page = await open('/ranking', { viewport: { width: 718, height: 1000 } });
    await rows(page).first().waitFor();
    await page.emulateMedia({ media: 'print' });
    const cut = await page.locator('table.list tbody td :not(svg, svg *, .only-read)').evaluateAll((all) =>
      all.flatMap((part) => {
        const { right } = part.getBoundingClientRect();
        const cell = part.closest('td')!.getBoundingClientRect();
        const isCut = getComputedStyle(part).overflow !== 'visible' && part.scrollHeight > part.clientHeight + 2;
        return isCut || right > cell.right + 1 ? [part.textContent] : [];
      }),
    );
    expect(cut).toEqual([]);
  });

  it('narrows the list to a route; the address and the CSV keep it', async () => {
    const page = await open('/ranking');
    const choices = await page.getByLabel('Route').locator('option').allTextContents();
    expect(choices.length).toBeGreaterThan(2);
    const [download] = await inRoute(page, choices.at(-1)!);
    const lines = readFileSync(await download.path(), 'utf8')
      .trim()
      .split('\r\n');
    expect(lines.slice(1).filter((line) => !line.includes(`,${choices.at(-1)},`))).toEqual([]);
    expect(new URL(page.url()).searchParams.get('route')).toBe(choices.at(-1));
  });

  it('is told why a vehicle has no rank, instead of being shown another one', async () => {
    const page = await open('/ranking?why=KV-NOT-THERE');
    await page.getByText('KV-NOT-THERE has no rank in this week').waitFor();
    expect(await page.getByRole('heading', { name: /^Why / }).count()).toBe(0);
  });

  it('reads temperatures in the unit of the person', async () => {
    const page = await open('/ranking');
    await page.locator('.why .facts').last().waitFor();
    await page.getByRole('button', { name: 'Units, theme' }).click();
    await page.getByLabel('°F').check();
    await page.keyboard.press('Escape');
    await expect.poll(() => page.locator('.why').textContent()).toContain('°F');
    expect(await page.locator('.why').textContent()).not.toContain('°C');
  });

  it('scrolls and filters 2,000 vehicles without a visible delay, with few of them in the document', async () => {
    const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
    onTestFinished(() => page.close());
    const ranking = (await (await fetch(`${demo.url}/v1/rankings/latest`)).json()) as Ranking;
    const ranked = Array.from({ length: 2000 }, (_, index) => {
      const row = ranking.ranked[index % ranking.ranked.length]!;
      return { ...row, rank: index + 1, vehicle: `BIG-${index + 1}` };
    });
    await page.route(/\/v1\/rankings\/\d/, (route) => route.fulfill({ json: { ...ranking, ranked } }));
    await page.goto(`${demo.url}/ranking`);
    await rows(page).first().waitFor();
    expect(await rows(page).count()).toBeLessThan(90);
    await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
    await page.getByRole('link', { name: 'BIG-2000', exact: true }).waitFor();
    await page.evaluate(() => window.scrollTo(0, 0));
    const delayMs = await page.evaluate(async () => {
      const field = document.querySelector<HTMLInputElement>('input[type=search]')!;
      const startedAt = performance.now();
      field.value = 'big-1234';
      field.dispatchEvent(new Event('input', { bubbles: true }));
      while (document.querySelectorAll('table.list tbody tr:not(.spacer)').length !== 1)
        await new Promise((resolve) => requestAnimationFrame(resolve));
      return performance.now() - startedAt;
    });
    console.log(`filtering 2,000 vehicles took ${delayMs.toFixed(0)} ms`);
    expect(delayMs).toBeLessThan(250);
  });
});

describe('the technician', () => {
  it('sees what a log holds before sending it; the same file again is not sent again', async () => {
    const page = await open('/upload');
    const input = page.locator('input[type=file]').first();
    const posts: string[] = [];
    page.on('request', (request) => request.method() === 'POST' && posts.push(request.url()));
    // A line after the end makes it a log that the server has not seen.
    const buffer = Buffer.concat([readFileSync(demo.log()), Buffer.from('\n')]);
    const file = { name: 'card-7.csv', mimeType: 'text/csv', buffer };
    await input.setInputFiles(file);
    await fileState(page, 'Ready').waitFor();
    expect(posts).toEqual([]);
    await page.getByRole('button', { name: 'Look inside card-7.csv' }).click();
    await page.getByText('Channels and signals').waitFor();
    expect(await page.locator('.mapping tbody tr').count()).toBeGreaterThan(5);
    const corrected = page.locator('.mapping tbody tr:has(.mark)').last();
    await corrected.locator('select').first().selectOption('');
    await page
      .getByText('Your corrections count for this preview')
      .or(page.getByText('To save the correction'))
      .waitFor();
    await page.getByRole('button', { name: 'Close' }).click();
    await page.getByLabel('Vehicle', { exact: true }).first().fill('KV-101');
    await fileState(page, 'Ready').waitFor();
    await page.getByRole('button', { name: 'Send 1 file' }).click();
    await fileState(page, 'Sent').waitFor();
    expect(posts).toHaveLength(1);
    await page.getByRole('button', { name: 'Clear the list' }).click();
    await input.setInputFiles(file);
    await fileState(page, 'Ready').waitFor();
    await page.getByRole('button', { name: 'Send 1 file' }).click();
    await page.getByText('Already on the server, not sent again').waitFor();
    expect(posts).toHaveLength(1);
  });

  it('goes on inside a large file after the line broke, and after a reload with the same file dropped again', async () => {
    const page = await open('/upload');
    const note = 'x'.repeat(200);
    const start = Date.parse('2026-10-05T00:00:00Z');
    const rows = Array.from({ length: 45_000 }, (_, i) => `${new Date(start + i * 100).toISOString()},80,${note}`);
    // Two pieces of 8 MiB at most; no vehicle, so that nothing of it changes what the other tests see.
    const buffer = Buffer.from(`Time,Coolant Temperature (°C),Note\n${rows.join('\n')}\n`);
    const file = { name: 'long.csv', mimeType: 'text/csv', buffer };
    const offsets: string[] = [];
    page.on('request', (request) => {
      if (request.method() === 'PATCH') offsets.push(request.headers()['upload-offset'] ?? '');
    });
    const isSecondPiece = (url: URL) => url.pathname.startsWith('/v1/transfers/');
    await page.route(isSecondPiece, (route) =>
      route.request().headers()['upload-offset'] === '0' ? route.continue() : route.abort(),
    );
    const send = async () => {
      await page.locator('input[type=file]').first().setInputFiles(file);
      await fileState(page, 'Ready').waitFor();
      await page.getByRole('button', { name: 'Send 1 file' }).click();
    };
    await send();
    await page.getByText('The line broke; going on by itself soon').waitFor();
    expect(offsets[0]).toBe('0');
    await page.reload();
    await page.unroute(isSecondPiece);
    const before = offsets.length;
    await send();
    await page.getByText('Sent; waits below for what is missing').waitFor();
    expect(offsets.slice(before)).toEqual([String(8 << 20)]);
  });

  it('is told at once that a file is no log', async () => {
    const page = await open('/upload');
    const buffer = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0, 1, 2, 3, 0, 0, 0]);
    await page.locator('input[type=file]').first().setInputFiles({ name: 'photo.png', mimeType: 'image/png', buffer });
    await page.getByText('Not a log').waitFor();
  });

  it('releases a waiting upload with one step', async () => {
    const body = readFileSync(demo.log(), 'utf8').replaceAll(/1KV[A-Z0-9]{14}/g, '');
    const sent = await fetch(`${demo.url}/v1/logs?fileName=unknown.csv&recorder=NOBODY-1`, {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream' },
      body,
    });
    expect(((await sent.json()) as { state: string }).state).toBe('waiting');
    const page = await open('/upload');
    const form = page.getByRole('form', { name: 'Release unknown.csv' });
    await form.getByLabel('Vehicle').fill('KV-103');
    await form.getByRole('button', { name: 'Release' }).click();
    await page.getByText('unknown.csv goes on, as KV-103.').waitFor();
  });
});

describe('the maintenance planner', () => {
  it('sees who would fail at the next inspection, soonest due first', async () => {
    const page = await open('/readiness');
    await rows(page).first().waitFor();
    const all = await rows(page).count();
    expect(await page.locator('.caution-line').textContent()).toContain('programme decides');
    await page.getByLabel('At an inspection').selectOption('would_pass');
    await expect.poll(() => rows(page).count()).toBeLessThanOrEqual(all);
    expect(await rows(page).locator('.mark').allTextContents()).toEqual(
      expect.not.arrayContaining([expect.stringContaining('fail')]),
    );
    expect(page.url()).toContain('show=would_pass');
  });
});

describe('the rules of the ranking', () => {
  it('leave a vehicle out only after the past weeks were looked at, and keep who did it', async () => {
    const page = await open('/ranking-rules');
    await page.getByText('Nobody is left out.').waitFor();
    const newest = (await (await fetch(`${demo.url}/v1/rankings/latest`)).json()) as Ranking;
    const { vehicle } = newest.ranked[0]!;
    await page.getByLabel('Vehicle', { exact: true }).fill(vehicle);
    await page.getByLabel('Reason').fill('body shop');
    await page.getByLabel('From', { exact: true }).fill('2020-01-01');
    await page.getByLabel('Last day').fill('2099-12-31');
    await page.getByRole('button', { name: 'Leave out', exact: true }).click();
    await page.getByRole('button', { name: 'Try on past weeks' }).click();
    await page
      .getByText(/would stand differently/)
      .first()
      .waitFor();
    await page
      .getByText(/Left out until 2099-12-31: body shop/)
      .first()
      .waitFor();
    const setting = async () =>
      (await (await fetch(`${demo.url}/v1/settings/ranking-exclusions`)).json()) as { version: number };
    expect((await setting()).version).toBe(0);
    await page.getByLabel('Weight of heat').fill('1.5');
    await page.getByText('A number from 0 to 1').waitFor();
    await page.getByLabel('Your name').fill('Manager');
    expect(await page.getByRole('button', { name: /^Save; used/ }).isDisabled()).toBe(true);
    await page.getByLabel('Weight of heat').fill('0.9');
    await page.getByRole('button', { name: /^Save; used/ }).click();
    await page.getByText('Version 1, by Manager').waitFor();
    expect((await setting()).version).toBe(1);
  });
});

describe('the analyst', () => {
  it('tries changed limits on a past week, then saves them', async () => {
    const page = await open('/limits');
    await page.getByLabel('Limit of watch in °C').fill('70');
    await page.getByRole('button', { name: 'Try on this week' }).click();
    await page.getByText(/would stand differently in/).waitFor();
    expect(await rows(page).count()).toBeGreaterThan(0);
    const before = (await (await fetch(`${demo.url}/v1/settings/heat-stages`)).json()) as { version: number };
    expect(before.version).toBe(0);
    await page.getByLabel('Your name').fill('Analyst');
    await page.getByRole('button', { name: /^Save; used/ }).click();
    await page.getByText('Version 1, by Analyst').waitFor();
  });
});

describe('every page', () => {
  it.each(PLACES.flatMap((path) => (['light', 'dark'] as const).map((theme) => ({ path, theme }))))(
    'has no serious finding of axe: $path, $theme',
    async ({ path, theme }) => {
      for (const viewport of [
        { width: 1280, height: 900 },
        { width: 390, height: 844 },
        { width: 360, height: 740 },
      ]) {
        const page = await open(path, { colorScheme: theme, viewport });
        await page.waitForLoadState('networkidle');
        // The page's policy runs no inline script, so the checker comes in by evaluation.
        await page.evaluate(AXE);
        const found = await page.evaluate(async () => {
          const { axe } = window as unknown as { axe: { run(): Promise<{ violations: AxeFinding[] }> } };
          return (await axe.run()).violations.map(({ id, impact, nodes }) => ({ id, impact, where: nodes[0]?.html }));
        });
        expect(found.filter(({ impact }) => SERIOUS.includes(impact ?? ''))).toEqual([]);
        const overflow = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
        expect(overflow).toBeLessThanOrEqual(0);
      }
    },
  );

  it('is reached by the keyboard alone, and takes the focus', async () => {
    const page = await open('/ranking');
    await page.keyboard.press('Tab');
    await expect.poll(() => page.evaluate(() => document.activeElement?.textContent)).toBe('Skip to the page');
    for (let press = 0; press < 4; press++) {
      await page.keyboard.press('Tab');
      if ((await page.evaluate(() => document.activeElement?.textContent)) === 'Upload') break;
    }
    await page.keyboard.press('Enter');
    await page.getByRole('heading', { name: 'Upload logs and snapshots' }).waitFor();
    await expect.poll(() => page.evaluate(() => document.activeElement?.tagName)).toBe('H1');
  });

  it.each([...PLACES, ...OTHER_PLACES].map((path) => ({ path })))(
    'says what to do when the server does not answer: $path',
    async ({ path }) => {
      const page = await browser.newPage();
      onTestFinished(() => page.close());
      await page.route('**/v1/**', (route) => route.abort());
      await page.goto(demo.url + path);
      await page.getByText('Check the network connection').first().waitFor();
      await page.unroute('**/v1/**');
      // From the last on: each is found by its place among those that are left.
      for (const again of (await page.getByRole('button', { name: 'Try again' }).all()).toReversed())
        await again.click();
      await expect.poll(() => page.getByText('Check the network connection').count()).toBe(0);
    },
  );

  it('loads less than 200 kB of compressed script at first', async () => {
    const page = await browser.newPage();
    onTestFinished(() => page.close());
    await page.goto(`${demo.url}/ranking`, { waitUntil: 'networkidle' });
    const bytes = await page.evaluate(() =>
      (performance.getEntriesByType('resource') as PerformanceResourceTiming[])
        .filter(({ name }) => name.endsWith('.js'))
        .reduce((sum, entry) => sum + entry.encodedBodySize, 0),
    );
    console.log(`first load: ${(bytes / 1000).toFixed(1)} kB of compressed script`);
    expect(bytes).toBeGreaterThan(1000);
    expect(bytes).toBeLessThan(200_000);
  });
});

interface AxeFinding {
  id: string;
  impact: string | null;
  nodes: { html: string }[];
}
