import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Recording, UploadReceipt } from '@tallybay/contracts';
import { Lake } from '@tallybay/lake';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { z } from 'zod';
import { ApiProcess } from '../../service/api-process.js';
import { IngestService } from '../../service/ingest-service.js';
import { LOG, recordingLog, timeOf } from './recording-log.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const VEHICLE = 'KV-7';

// The two services alone, without a demo fleet: what is in the log must be known to the row.
let home: string;
let ingest: IngestService;
let api: ApiProcess;
let browser: Browser;
let upload: string;
beforeAll(async () => {
  home = mkdtempSync(join(tmpdir(), 'tallybay-recording-'));
  ingest = await IngestService.start(home, [VEHICLE]);
  api = await ApiProcess.start(home, ingest.url);
  const sent = await fetch(`${api.url}/v1/logs?vehicle=${VEHICLE}&fileName=card.csv`, {
    method: 'POST',
    headers: { 'content-type': 'application/octet-stream' },
    body: recordingLog(),
  });
  upload = ((await sent.json()) as UploadReceipt).id;
  expect((await ingest.untilDone(upload)).state).toBe('stored');
  const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
  browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
}, 170_000);
afterAll(async () => {
  await browser?.close();
  await api?.stop();
  await ingest?.stop();
  rmSync(home, { recursive: true, force: true });
});

async function open(query = '', options: Parameters<Browser['newPage']>[0] = {}): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 }, ...options });
  page.setDefaultTimeout(20_000);
  onTestFinished(() => page.close());
  await page.goto(`${api.url}/recordings/${upload}${query}`);
  await page.locator('.lane').first().waitFor();
  return page;
}

/** A busy machine takes its time. */
const eventually = <T>(ask: () => T) => expect.poll(ask, { timeout: 15_000, interval: 50 });
const lane = (page: Page, signal: string) => page.locator(`.lane[data-signal=${signal}]`);
const valueIn = (page: Page, signal: string) => lane(page, signal).locator('.value-now').textContent();
const cursorTime = (page: Page) => page.locator('.cursor-time').textContent();
/** The depot's clock: Denver is six hours behind UTC in September (IANA tz database). */
const clockOf = (row: number) => new Date(timeOf(row) - 6 * 3_600_000).toISOString().slice(11, 21);

/** What the lake holds at one instant. */
async function lakeValue(signal: string, atMs: number): Promise<number | null> {
  const lake = await Lake.open(ingest.lake, { vehicle: VEHICLE });
  try {
    const sql = `SELECT ${signal} AS value FROM samples WHERE epoch_ms(time) = $at`;
    const rows = await lake.query(sql, z.object({ value: z.number().nullable() }), { at: atMs });
    return rows[0]?.value ?? null;
  } finally {
    lake.close();
  }
}

/** Uppermost pixel of the lane's own colour near the middle of its plot, as a share of its height. */
const highestInk = (page: Page, signal: string): Promise<number> =>
  page.evaluate<number>(`new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(() => {
    const canvas = document.querySelector('.lane[data-signal=${signal}] canvas');
    const { width, height } = canvas;
    const swatch = getComputedStyle(document.querySelector('.lane[data-signal=${signal}] .lane-swatch'));
    const [red, green, blue] = swatch.backgroundColor.match(/\\d+/g).map(Number);
    const left = Math.round(50 + (width - 60) / 2) - 4;
    const { data } = canvas.getContext('2d').getImageData(left, 0, 9, height);
    for (let at = 0; at < data.length; at += 4)
      if (Math.abs(data[at] - red) + Math.abs(data[at + 1] - green) + Math.abs(data[at + 2] - blue) < 30 && data[at + 3] > 200)
        return resolve(Math.floor(at / 4 / 9) / height);
    resolve(1);
  })))`);

describe('one recording at full rate', () => {
  it('goes to a highest value, reads what the lake holds there and a sample later, and shows the spike at every zoom', async () => {
    const page = await open('?signals=coolant_temp_c,engine_load_pct');
    await lane(page, 'engine_load_pct')
      .getByRole('button', { name: /^Highest/ })
      .click();
    await eventually(() => cursorTime(page)).toContain(clockOf(LOG.spikeRow));
    const held = await lakeValue('engine_load_pct', timeOf(LOG.spikeRow));
    expect(held).toBe(LOG.spike);
    await eventually(() => valueIn(page, 'engine_load_pct')).toBe(held!.toFixed(1));
    // The spike to the middle of the view: then zoom in on it, looking at each step before and after finer data has come.
    const around = (minutes: number) => new Date(timeOf(LOG.spikeRow) + minutes * 60_000).toISOString();
    const at = new Date(timeOf(LOG.spikeRow)).toISOString();
    const close = await open(`?signals=coolant_temp_c,engine_load_pct&from=${around(-14)}&to=${around(14)}&at=${at}`);
    await eventually(() => highestInk(close, 'engine_load_pct')).toBeLessThan(0.15);
    await close.locator('.clock').focus();
    for (let press = 0; press < 14; press++) {
      await close.keyboard.press('+');
      expect(await highestInk(close, 'engine_load_pct'), `after ${press + 1} steps`).toBeLessThan(0.15);
    }
    await close.waitForLoadState('networkidle');
    expect(await highestInk(close, 'engine_load_pct')).toBeLessThan(0.15);
    await close.keyboard.press('ArrowRight');
    const next = await lakeValue('engine_load_pct', timeOf(LOG.spikeRow + 1));
    await eventually(() => valueIn(close, 'engine_load_pct')).toBe(next!.toFixed(1));
    expect(await cursorTime(close)).toContain(clockOf(LOG.spikeRow + 1));
  });

  it('zooms with the wheel at the pointer, pans by dragging, and a link shows a colleague the same', async () => {
    const page = await open('?signals=engine_load_pct,coolant_temp_c');
    const whole = await page.locator('.view-text').textContent();
    const box = (await lane(page, 'engine_load_pct').locator('canvas').boundingBox())!;
    await page.mouse.move(box.x + box.width / 2, box.y + 40);
    for (let notch = 0; notch < 6; notch++) await page.mouse.wheel(0, -100);
    await eventually(() => page.locator('.view-text').textContent()).not.toBe(whole);
    const zoomed = await page.locator('.view-text').textContent();
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2 - 150, box.y + 40, { steps: 4 });
    await page.mouse.up();
    await eventually(() => page.locator('.view-text').textContent()).not.toBe(zoomed);
    await page.mouse.click(box.x + box.width / 2, box.y + 40);
    await lane(page, 'coolant_temp_c')
      .getByLabel(/^Unit of/)
      .selectOption('degF');
    await page.getByLabel('Add a signal').selectOption({ label: 'Vehicle speed' });
    await lane(page, 'vehicle_speed_kmh').waitFor();
    await eventually(() => page.url()).toContain('vehicle_speed_kmh');
    await page.waitForLoadState('networkidle');
    const seen = async (tab: Page) => ({
      cursor: await cursorTime(tab),
      view: await tab.locator('.view-text').textContent(),
      lanes: await tab.locator('.lane').evaluateAll((all) => all.map((one) => one.getAttribute('data-signal'))),
      values: await tab.locator('.lane .value-now').allTextContents(),
      unit: await lane(tab, 'coolant_temp_c')
        .getByLabel(/^Unit of/)
        .inputValue(),
    });
    const mine = await seen(page);
    expect(mine.lanes).toEqual(['engine_load_pct', 'coolant_temp_c', 'vehicle_speed_kmh']);
    const theirs = await open(new URL(page.url()).search);
    await eventually(() => seen(theirs)).toEqual(mine);
    expect(mine.unit).toBe('degF');
  });

  it('replays along the cursor, repeats a chosen span, takes a signal in meanwhile, and pauses', async () => {
    const [from, to] = [timeOf(100), timeOf(300)].map((ms) => new Date(ms).toISOString());
    const page = await open(`?signals=engine_load_pct&at=${from}&span=${from}~${to}&repeat=1`);
    await page.locator('.speed select').selectOption('60');
    await page.getByRole('button', { name: 'Play' }).click();
    const times = new Set<string | null>();
    await eventually(async () => times.add(await cursorTime(page)).size).toBeGreaterThan(4);
    await page.getByLabel('Add a signal').selectOption({ label: 'Vehicle speed' });
    await lane(page, 'vehicle_speed_kmh').waitFor();
    await page.getByRole('button', { name: 'Pause' }).click();
    await page.getByRole('button', { name: 'Play' }).waitFor();
    const stopped = await cursorTime(page);
    const clock = stopped!.slice(-10);
    expect(clock >= clockOf(100) && clock <= clockOf(300), clock).toBe(true);
    await page.waitForTimeout(300);
    expect(await cursorTime(page)).toBe(stopped);
    await page.getByRole('button', { name: '+10 s' }).click();
    await eventually(() => cursorTime(page)).not.toBe(stopped);
  });

  it('draws a channel that the catalogue does not know, leads to its peak by a link, and says which hold words', async () => {
    const page = await open('?signals=engine_load_pct');
    await page.getByLabel('Add a signal').selectOption({ label: `${LOG.pump.header} (not in the catalogue)` });
    const pump = page.locator(`.lane[aria-label="${LOG.pump.header}"]`);
    await pump.getByRole('button', { name: /^Highest/ }).click();
    await eventually(() => cursorTime(page)).toContain(clockOf(LOG.pump.spikeRow));
    await eventually(() => pump.locator('.value-now').textContent()).toBe(`${LOG.pump.spike}`);
    await page.getByText('Channels of words (1)').click();
    await page.getByText('2 changes, such as “idle”').waitFor();
    await eventually(() => page.url()).toContain('aside');
    const theirs = await open(new URL(page.url()).search);
    const same = theirs.locator(`.lane[aria-label="${LOG.pump.header}"]`);
    await eventually(() => same.locator('.value-now').textContent()).toBe(`${LOG.pump.spike}`);
  });

  it('jumps to what the driver marked and to an episode; a note is added at the cursor, by keyboard alone', async () => {
    const page = await open('?signals=coolant_temp_c');
    await page.locator('.clock').focus();
    await page.keyboard.press('n');
    await eventually(() => cursorTime(page)).toContain(clockOf(LOG.markerRow));
    await page.getByRole('button', { name: LOG.marker }).waitFor();
    await page.keyboard.press('n');
    const recording = (await (await fetch(`${api.url}/v1/recordings/${upload}`)).json()) as Recording;
    expect(recording.episodes).toMatchObject([{ stage: 'alarm', worst: LOG.hot.coolantC }]);
    const episodeRow = (Date.parse(recording.episodes[0]!.from) - LOG.startMs) / LOG.stepMs;
    await eventually(() => cursorTime(page)).toContain(clockOf(episodeRow));
    await page.getByLabel('Note').focus();
    await page.keyboard.type('fan loud');
    await page.keyboard.press('Tab');
    await page.keyboard.type('Ana');
    await page.keyboard.press('Enter');
    await page.getByRole('button', { name: 'fan loud' }).first().waitFor();
    const after = (await (await fetch(`${api.url}/v1/recordings/${upload}`)).json()) as Recording;
    expect(after.markers).toMatchObject([
      { text: LOG.marker, id: null },
      { text: 'fan loud', by: 'Ana', at: recording.episodes[0]!.from },
    ]);
    await page.getByRole('button', { name: 'Take away the marker fan loud' }).press('Enter');
    await eventually(() => page.getByRole('button', { name: 'fan loud' }).count()).toBe(0);
  });

  it('prints its lists whole, without what scrolls', async () => {
    const page = await browser.newPage({ viewport: { width: 718, height: 1000 }, colorScheme: 'dark' });
    onTestFinished(() => page.close());
    await page.goto(`${api.url}/recordings/${upload}`);
    await page.locator('.all-signals tbody tr').first().waitFor();
    await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
    const boxes = await page
      .locator('main .scroll-x')
      .evaluateAll((all) =>
        all.map((box) => ({ hidden: getComputedStyle(box).overflowY, below: box.scrollHeight - box.clientHeight })),
      );
    expect(boxes.length).toBeGreaterThan(0);
    for (const box of boxes) expect(box).toMatchObject({ hidden: 'visible' });
    expect(boxes.every(({ below }) => below <= 2)).toBe(true);
    // Paper is white, also for a reader who likes it dark.
    expect(await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor)).toBe(
      'rgb(255, 255, 255)',
    );
  });

  it('says what to do when plots cannot be fetched, and that a log is not there', async () => {
    const page = await browser.newPage();
    onTestFinished(() => page.close());
    await page.route('**/trace?**', (route) => route.abort());
    await page.goto(`${api.url}/recordings/${upload}`);
    await page.getByText('Check the network connection').waitFor();
    await page.unroute('**/trace?**');
    await page.getByRole('button', { name: 'Try again' }).click();
    await eventually(() => page.getByText('Check the network connection').count()).toBe(0);
    await page.goto(`${api.url}/recordings/none`);
    await page.getByText('There is no recording none').waitFor();
  });
});

describe('the recordings of a vehicle', () => {
  it('stand with their dates, and lead to one', async () => {
    const page = await browser.newPage();
    onTestFinished(() => page.close());
    await page.goto(`${api.url}/recordings`);
    await page.getByLabel('Vehicle').selectOption(VEHICLE);
    await page.getByRole('link', { name: 'Sep 7, 2026' }).click();
    await page.getByRole('heading', { name: `${VEHICLE}, Sep 7, 2026` }).waitFor();
    const bytes = await page.evaluate(() =>
      (performance.getEntriesByType('resource') as PerformanceResourceTiming[])
        .filter(({ name }) => name.endsWith('.js'))
        .reduce((sum, entry) => sum + entry.encodedBodySize, 0),
    );
    expect(bytes).toBeGreaterThan(1000);
    expect(bytes).toBeLessThan(200_000);
  });
});

it.each(['light', 'dark'] as const)('no serious finding of axe, nothing wider than the window: %s', async (theme) => {
  for (const path of [`/recordings/${upload}`, `/recordings?vehicle=${VEHICLE}`])
    for (const width of [1280, 390]) {
      const page = await browser.newPage({ viewport: { width, height: 844 }, colorScheme: theme });
      await page.goto(api.url + path, { waitUntil: 'networkidle' });
      await page.locator('.lane, table.list').first().waitFor();
      // The page's policy runs no inline script, so the checker comes in by evaluation.
      await page.evaluate(AXE);
      const found = await page.evaluate(async () => {
        const { axe } = window as unknown as { axe: { run(): Promise<{ violations: AxeFinding[] }> } };
        return (await axe.run()).violations.map(({ id, impact, nodes }) => ({ id, impact, where: nodes[0]?.html }));
      });
      expect(found.filter(({ impact }) => impact === 'serious' || impact === 'critical')).toEqual([]);
      const overflow = await page.evaluate(() => document.documentElement.scrollWidth - window.innerWidth);
      expect(overflow).toBeLessThanOrEqual(0);
      await page.close();
    }
});

interface AxeFinding {
  id: string;
  impact: string | null;
  nodes: { html: string }[];
}
