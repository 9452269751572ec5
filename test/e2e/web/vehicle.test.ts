import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { type Browser, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { DemoService } from './demo-service.js';

const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const SERIOUS = ['serious', 'critical'];
const VEHICLE = '/vehicles/KV-112';
/** A page asks the service a dozen questions at once. */
const PATIENCE = { timeout: 20_000 };

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
  page.setDefaultTimeout(PATIENCE.timeout);
  onTestFinished(() => page.close());
  await page.goto(demo.url + path);
  await page.locator('h1').waitFor();
  return page;
}

/** The page of one vehicle with every part answered. */
async function openVehicle(options: Parameters<Browser['newPage']>[0] = {}): Promise<Page> {
  const page = await open(VEHICLE, options);
  await everyPart(page);
  return page;
}

async function everyPart(page: Page): Promise<void> {
  await page.locator('#recordings table').waitFor();
  await expect.poll(() => page.locator('.loading').count(), PATIENCE).toBe(0);
}

describe('the page of one vehicle', () => {
  it('is found in the list, and says what is wrong, since when, how sure, with caution', async () => {
    const page = await open('/vehicles');
    await page.getByLabel('Find vehicle, name or VIN').fill('112');
    await page.getByRole('link', { name: 'KV-112', exact: true }).click();
    await page.getByRole('heading', { name: 'KV-112', level: 1 }).waitFor();
    await everyPart(page);
    const questions = await page.locator('.in-short dt').allTextContents();
    expect(questions).toEqual(['What is wrong', 'Since when', 'How sure']);
    const [wrong, since, sure] = await page.locator('.in-short dd').allTextContents();
    expect(wrong).toMatch(/Engine coolant temperature was at or above \d+ °C \(\w+\) for/);
    expect(since).toMatch(/since the week of|for the first time/);
    expect(sure).toMatch(/From \d+ drives with \d+\.\d engine hours/);
    expect(await page.locator('#summary .caution-line').textContent()).toContain('safe to drive');
  });

  it('shows each part with its evidence, and opens a recording at the time of an episode', async () => {
    const page = await openVehicle();
    expect(await page.locator('.notice-error').allTextContents()).toEqual([]);
    expect(await page.locator('#temperatures canvas, #warning canvas').count()).toBeGreaterThanOrEqual(1);
    expect(await page.locator('table.dwell tbody tr').count()).toBeGreaterThan(6);
    const minutes = await page.locator('table.dwell td').allTextContents();
    expect(minutes.every((text) => /^(–|<1|[\d,]+)$/.test(text))).toBe(true);
    expect(await page.locator('#readiness .mark').count()).toBeGreaterThan(0);
    expect(await page.locator('#extremes tbody tr').count()).toBeGreaterThan(5);
    const link = page.locator('#episodes tbody a').first();
    expect(await link.getAttribute('href')).toMatch(/^\/recordings\/\w+\?from=\d{4}-.*&to=.*&signals=coolant_temp_c/);
    await link.click();
    await expect.poll(() => page.url()).toContain('/recordings/');
  });

  it('is reached from the ranking’s panel', async () => {
    const page = await open('/ranking?why=KV-112');
    await page.getByRole('link', { name: 'Everything about KV-112' }).click();
    await page.getByRole('heading', { name: 'KV-112', level: 1 }).waitFor();
  });

  it('keeps its other parts when one of them fails, and says what to do', async () => {
    const page = await browser.newPage({ viewport: { width: 1280, height: 900 } });
    page.setDefaultTimeout(PATIENCE.timeout);
    onTestFinished(() => page.close());
    await page.route('**/evidence?*', (route) => route.abort());
    await page.goto(demo.url + VEHICLE);
    const episodes = page.locator('#episodes');
    await episodes.getByText('Check the network connection').waitFor();
    await page.locator('table.dwell td').first().waitFor();
    await everyPart(page);
    expect(await page.locator('#summary .in-short dd').first().textContent()).not.toBe('');
    await page.unroute('**/evidence?*');
    await episodes.getByRole('button', { name: 'Try again' }).click();
    await episodes.locator('tbody tr').first().waitFor();
  });

  it('says that a vehicle is not registered and what to do; what programs ask is folded away', async () => {
    const page = await open('/vehicles/KV-NOT-THERE');
    await page.getByText('Vehicle KV-NOT-THERE could not be loaded').waitFor();
    await page.getByText('There is no vehicle KV-NOT-THERE').waitFor();
    expect(await page.getByText('/v1/').filter({ visible: true }).count()).toBe(0);
    await page.getByText('For whoever runs the server').click();
    await page.getByText('404 vehicle_not_found, /v1/vehicles/KV-NOT-THERE').waitFor();
  });

  it('shows temperatures in the unit of the person, and one plot in another', async () => {
    const page = await openVehicle();
    await page.getByLabel('Unit of Engine coolant temperature').selectOption('degF');
    await expect.poll(() => page.locator('#temperatures table').textContent()).toContain('°F');
    expect(await page.locator('#episodes tbody').textContent()).not.toContain('°F');
    await page.getByRole('button', { name: 'Units, theme' }).click();
    await page.getByRole('radio', { name: '°F' }).check();
    await page.keyboard.press('Escape');
    await expect.poll(() => page.locator('#episodes tbody').textContent()).not.toContain('°C');
    expect(await page.locator('#summary').textContent()).not.toContain('°C');
  });
});

describe('what people do on it', () => {
  it('a note is added and stays', async () => {
    const page = await openVehicle();
    const notes = page.locator('#notes');
    await notes.getByLabel('Note', { exact: true }).fill('Thermostat ordered.');
    await notes.getByLabel('Your name').fill('Ines');
    await notes.getByRole('button', { name: 'Add the note' }).click();
    await notes.getByText('Thermostat ordered.').first().waitFor();
    const stored = (await (await fetch(`${demo.url}/v1${VEHICLE}/notes`)).json()) as { notes: { by: string }[] };
    expect(stored.notes.map(({ by }) => by)).toContain('Ines');
  });

  it('other tyres are saved with their effect; what another person saved meanwhile is not overwritten', async () => {
    const [page, other] = [await openVehicle(), await openVehicle()];
    const fitTyres = async (on: Page, tyre: string) => {
      const part = on.locator('#settings');
      await part.getByRole('button', { name: 'Add a change' }).click();
      await part.getByLabel('From', { exact: true }).fill('2026-09-01T08:00');
      await part.getByLabel('Tyres the speedometer is set for').fill('245/75R16');
      await part.getByLabel('Tyres fitted').fill(tyre);
      expect(await part.getByRole('status').textContent()).toMatch(/Effect on speed: [+−]\d/);
      await part.getByRole('button', { name: 'Add a change' }).click();
      await part.getByRole('button', { name: 'Save these settings' }).click();
      return part;
    };
    await (await fitTyres(page, '265/75R16')).getByText('Saved as version').waitFor();
    const conflict = (await fitTyres(other, '235/75R16')).locator('.notice-error');
    await conflict.waitFor();
    const record = (await (await fetch(`${demo.url}/v1${VEHICLE}`)).json()) as { speedCorrections: object[] };
    expect(record.speedCorrections).toMatchObject([{ tyreFitted: '265/75R16' }]);
  });

  it('lowest and highest are set back by a person with a reason, by keyboard alone, and the history is kept', async () => {
    const page = await openVehicle();
    await page.locator('#extremes').getByRole('button', { name: 'Set back …' }).focus();
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor();
    await page.getByRole('dialog').getByLabel('Why').focus();
    await page.keyboard.type('Thermostat replaced');
    await page.keyboard.press('Tab');
    await page.keyboard.type('Ines');
    await page.keyboard.press('Enter');
    await page.getByText('Set back. New recordings count from now on.').waitFor();
    await page.getByText('Set back 1 time', { exact: true }).click();
    await page.getByText(/Ines: Thermostat replaced \(all signals\)/).waitFor();
  });
});

describe('the vehicles’ pages', () => {
  it.each(['/vehicles', VEHICLE].flatMap((path) => (['light', 'dark'] as const).map((theme) => ({ path, theme }))))(
    'have no serious finding of axe and fit their window: $path, $theme',
    async ({ path, theme }) => {
      for (const viewport of [
        { width: 1280, height: 900 },
        { width: 390, height: 844 },
      ]) {
        const options = { colorScheme: theme, viewport };
        const page = path === VEHICLE ? await openVehicle(options) : await open(path, options);
        await page.waitForLoadState('networkidle');
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

  it('are walked by the keyboard: from the contents to a part, and on to its first link', async () => {
    const page = await openVehicle();
    await page.locator('.contents a', { hasText: 'Hot episodes' }).focus();
    await page.keyboard.press('Enter');
    await expect.poll(() => page.url()).toContain('#episodes');
    for (let press = 0; press < 3; press++) {
      await page.keyboard.press('Tab');
      if ((await page.evaluate(() => document.activeElement?.tagName)) === 'A') break;
    }
    expect(await page.evaluate(() => document.activeElement?.closest('section.card')?.id)).toBe('episodes');
  });
});

interface AxeFinding {
  id: string;
  impact: string | null;
  nodes: { html: string }[];
}
