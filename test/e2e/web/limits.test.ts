// Low and high limits on any signal, set by a person in a browser: tried on a past week, then saved.
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { SettingDocument, SignalLimit } from '@tallybay/contracts';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startApi } from '../../unit/apps/api/test-api.js';
import { driveRows, storeLog, writeLog } from '../../unit/libs/lake/store-log.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const START = Date.UTC(2026, 9, 6, 14);

let url: string;
let browser: Browser;
const atEnd: (() => Promise<void> | void)[] = [];

// The api alone on a lake of two drives: only one of them is hot enough.
beforeAll(async () => {
  const api = await startApi(
    {},
    () => START + 20 * 86_400_000,
    (work) => void atEnd.push(work),
  );
  await api.call('POST', '/v1/fleet', {
    name: 'Kestrel Valley Water District',
    depots: [{ id: 'north', name: 'North yard', timeZone: 'America/Denver' }],
    vehicles: ['KV-1', 'KV-2'].map((id) => ({ id, vehicleClass: 'service_pickup', depot: 'north' })),
  });
  const lake = api.runtime.config.lakeDirectory;
  const rows = driveRows(START, 20);
  await storeLog(lake, { vehicle: 'KV-1', upload: 'u1', text: writeLog(rows, 'iso') });
  const cool = rows.map((row) => ({ ...row, coolantC: 85 }));
  await storeLog(lake, { vehicle: 'KV-2', upload: 'u2', text: writeLog(cool, 'iso') });
  expect((await api.call('POST', '/v1/rankings/2026-W41')).status).toBe(200);
  await api.app.listen(0, '127.0.0.1');
  url = await api.app.getUrl();
  const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
  atEnd.push(() => browser.close());
}, 170_000);
afterAll(async () => {
  for (const work of atEnd.reverse()) await work();
});

async function open(width: number): Promise<Page> {
  const page = await browser.newPage({ viewport: { width, height: 900 } });
  page.setDefaultTimeout(30_000);
  await page.goto(`${url}/limits?view=signals`);
  await page.getByRole('heading', { name: 'Any signal, low and high' }).waitFor();
  return page;
}

const saved = async (): Promise<SettingDocument> =>
  (await (await fetch(`${url}/v1/settings/signal-limits`)).json()) as SettingDocument;

it('a person adds a limit in any unit for one vehicle, tries it on a past week and saves it', async () => {
  const page = await open(1280);
  await page.getByText('1 limit', { exact: true }).waitFor();
  await page.getByLabel('Signal', { exact: true }).selectOption('coolant_temp_c');
  await page.getByLabel('For', { exact: true }).selectOption('vehicle:KV-1');
  await page.getByLabel('Unit', { exact: true }).selectOption('degF');
  await page.getByLabel('Limit', { exact: true }).fill('225');
  await page.getByLabel('Back by', { exact: true }).fill('3.6');
  await page.getByRole('button', { name: 'Add to the list' }).click();
  await page.getByText('2 limits', { exact: true }).waitFor();
  await page.getByText('at or above 225 °F').waitFor();
  await page.getByRole('button', { name: 'Try on this week' }).click();
  await page.getByText('1 vehicle crossed a limit in 2026-W41.', { exact: false }).first().waitFor();
  // 230 °F of the general stages is replaced by the vehicle's own 225 °F, which is crossed for longer.
  expect(await page.locator('table.list tbody tr:not(.spacer)').first().textContent()).toContain('KV-1');
  await page.getByLabel('Your name').fill('Analyst');
  await page.getByRole('button', { name: /^Save; used from the next upload/ }).click();
  await page.getByText('Version 1, by Analyst').waitFor();
  const rows = (await saved()).document as SignalLimit[];
  const own = rows.find(({ signal }) => signal === 'coolant_temp_c')!;
  expect(own).toMatchObject({
    vehicle: 'KV-1',
    direction: 'high',
    written: '225 °F',
    minSeconds: 10,
    during: 'running',
  });
  // NIST SP 811: (225 °F - 32) / 1.8; an interval of 3.6 °F is 2 K.
  expect(own.value).toBeCloseTo(107.2222, 3);
  expect(own.hysteresis).toBeCloseTo(2, 3);

  await page.getByRole('button', { name: /^Change .*coolant/i }).click();
  expect(await page.getByLabel('Limit', { exact: true }).inputValue()).toBe('225');
  await page.getByLabel('Limit', { exact: true }).fill('');
  await page.getByRole('button', { name: 'Change it in the list' }).click();
  await page.getByText('Give the limit as a number.').waitFor();
  await page.getByRole('button', { name: 'Leave it as it was' }).click();
  await page.getByRole('button', { name: /^Take away .*coolant/i }).click();
  await page.getByText('1 limit', { exact: true }).waitFor();
  await page.close();
});

it.each([1280, 390])('has no serious finding of axe and no overflow at %i px', async (width) => {
  const page = await open(width);
  await page.waitForLoadState('networkidle');
  await page.evaluate(AXE);
  const found = await page.evaluate(async () => {
    const { axe } = window as unknown as { axe: { run(): Promise<{ violations: { id: string; impact?: string }[] }> } };
    return (await axe.run()).violations.map(({ id, impact }) => ({ id, impact }));
  });
  expect(found.filter(({ impact }) => impact === 'serious' || impact === 'critical')).toEqual([]);
  expect(await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth)).toBeLessThanOrEqual(0);
  await page.close();
});
