import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { initLake } from '@tallybay/lake';
import { tableFromIPC } from 'apache-arrow';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { ApiProcess } from '../../service/api-process.js';
import { putRows } from '../../unit/libs/lake/lake-builder.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const home = mkdtempSync(join(tmpdir(), 'tallybay-sql-page-'));
let api: ApiProcess;
let browser: Browser;

beforeAll(async () => {
  const lake = join(home, 'lake');
  initLake(lake);
  const startedAt = Date.parse('2026-10-05T14:00:00Z');
  for (const [index, vehicle] of ['KV-101', 'KV-102', 'KV-103'].entries())
    putRows(lake, 'dwell', { vehicle, upload: `u${index}` }, [
      {
        segment: 1,
        drive_id: `u${index}-d1`,
        started_at: startedAt,
        signal: 'coolant_temp_c',
        low: 106,
        high: 107,
        seconds: 60 * (index + 1),
        value_seconds: 1,
        min: 106,
        max: 106.5,
      },
    ]);
  // Nothing is uploaded here: the address of ingest is one where nobody listens.
  api = await ApiProcess.start(home, 'http://127.0.0.1:9');
  const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
}, 120_000);

afterAll(async () => {
  await browser?.close();
  await api?.stop();
  rmSync(home, { recursive: true, force: true });
});

async function open(path = '/query', options: Parameters<Browser['newPage']>[0] = {}): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 1000 }, ...options });
  page.setDefaultTimeout(20_000);
  onTestFinished(() => page.close());
  await page.goto(api.url + path);
  await page.locator('.cm-content').waitFor();
  return page;
}

const rows = (page: Page) => page.locator('table.grid tbody tr:not(.spacer)');
async function type(page: Page, sql: string): Promise<void> {
  await page.locator('.cm-content').fill(sql);
}

describe('the analyst', () => {
  it('runs the first example, plots it, takes it along, and sends a link that shows the same', async () => {
    const page = await open();
    await page.getByRole('button', { name: 'Run' }).click();
    await rows(page).nth(2).waitFor();
    expect(await rows(page).first().textContent()).toContain('KV-103');
    await page.getByLabel('Kind').selectOption('bar');
    await page.locator('figure.plot canvas').waitFor();
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.getByRole('button', { name: 'Arrow' }).click(),
    ]);
    expect(tableFromIPC(readFileSync(await download.path())).numRows).toBe(3);
    await page.getByRole('button', { name: 'Keep this answer' }).click();
    const link = await page.locator('a[href*="?result="]').getAttribute('href');
    const other = await open(new URL(link!).pathname + new URL(link!).search);
    await rows(other).nth(2).waitFor();
    expect(await other.locator('.notice').first().textContent()).toContain('A kept answer');
  });

  it('is completed, corrected, and told why a statement is refused', async () => {
    const page = await open();
    await type(page, 'SELECT cool');
    await page.keyboard.press('Control+Space');
    await page.locator('.cm-tooltip-autocomplete', { hasText: 'coolant_temp_c' }).waitFor();
    await page.keyboard.press('Escape');
    await type(page, "SELECT * FROM read_text('/etc/passwd')");
    await page.keyboard.press('Control+Enter');
    await page.locator('[role=alert]', { hasText: 'read_text' }).waitFor();
  });

  it('scrolls a million rows to the last, and cancels what takes too long', async () => {
    const page = await open();
    await type(page, "SELECT i, 'row ' || i AS name FROM range(1000000) t(i)");
    await page.getByRole('button', { name: 'Run' }).click();
    await page.locator('[role=status]', { hasText: '1,000,000 rows in' }).waitFor();
    // Only what is in sight is in the document.
    expect(await rows(page).count()).toBeLessThan(120);
    await page.locator('.grid-box').evaluate((box) => box.scrollTo(0, box.scrollHeight));
    await page.locator('.grid td', { hasText: 'row 999999' }).waitFor();
    await type(page, 'SELECT count(*) FROM range(1000000) a, range(1000000) b WHERE a.range + b.range = 7');
    await page.getByRole('button', { name: 'Run' }).click();
    await page.getByRole('button', { name: 'Cancel' }).click();
    await page.locator('[role=status]', { hasText: 'Cancelled' }).waitFor();
  });

  it('has no serious accessibility problem, in both themes and on a phone', async () => {
    for (const options of [{ colorScheme: 'dark' as const }, { viewport: { width: 390, height: 844 } }]) {
      const page = await open('/query', options);
      await page.getByRole('button', { name: 'Run' }).click();
      await rows(page).nth(2).waitFor();
      await page.evaluate(AXE);
      const found = await page.evaluate('axe.run().then((r) => r.violations.map((v) => v.impact + " " + v.id))');
      expect((found as string[]).filter((line) => /^(serious|critical)/.test(line))).toEqual([]);
      expect(await page.evaluate('document.documentElement.scrollWidth - innerWidth')).toBeLessThanOrEqual(0);
    }
  });
});
