// `npm run screens -- --url http://127.0.0.1:8080`: pictures of every page into docs/screens, from a running demo.
// Both widths and both themes where they differ in layout; small enough to be kept with the sources.
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
const out = fileURLToPath(new URL('../docs/screens', import.meta.url));
const url = optionValue('--url') ?? 'http://127.0.0.1:8080';
const only = optionValue('--only');

/** A published log (its SOURCE.txt stands beside it). */
const LOG = fileURLToPath(
  new URL('../test/fixtures/logs/truck-j1939/2022-03-29_drive-600s_1hz_us.csv', import.meta.url),
);

const SIZES = { desk: { width: 1280, height: 900 }, phone: { width: 390, height: 844 } };

/** name, address, then what a person does there before the picture is taken. */
const PAGES = [
  { name: 'ranking', path: '/ranking', sees: 'table.list tbody tr' },
  { name: 'ranking-phone-why', path: '/ranking?why=KV-112', sees: 'dialog[open]', sizes: ['phone'] },
  { name: 'ranking-unranked', path: '/ranking?why=KV-109', sees: '.unranked', sizes: ['phone'] },
  { name: 'vehicles', path: '/vehicles', sees: 'table.list tbody tr' },
  ...['', 'dwell', 'codes', 'warning', 'extremes', 'quality'].map((part) => ({
    name: part === '' ? 'vehicle' : `vehicle-${part}`,
    // KV-108 is the one whose code was cleared and came back.
    path: part === 'codes' ? '/vehicles/KV-108' : '/vehicles/KV-112',
    sees: '#recordings table',
    act: (tab) => toPart(tab, part),
  })),
  { name: 'upload', path: '/upload', sees: '.drop' },
  {
    name: 'upload-preview',
    path: '/upload',
    sees: '.drop',
    act: async (tab) => {
      await tab.setInputFiles('input[type=file]:not([webkitdirectory])', LOG);
      await tab.getByRole('button', { name: 'Look inside' }).click();
      await tab.waitForSelector('dialog[open] table.mapping');
    },
  },
  { name: 'codes', path: '/codes', sees: 'table.list tbody tr' },
  { name: 'readiness', path: '/readiness', sees: 'table.list tbody tr' },
  { name: 'plan', path: '/plan', sees: '.visit' },
  { name: 'shop', path: '/plan/shop', sees: 'summary', act: (tab) => tab.click('summary') },
  { name: 'shop-hours', path: '/plan/shop?view=hours', sees: '.shop-weeks' },
  { name: 'recordings', path: '/recordings?vehicle=KV-112', sees: 'table.list tbody tr' },
  { name: 'recording', path: '/recordings?vehicle=KV-112', sees: 'table.list tbody tr', act: toEpisode },
  { name: 'recording-lists', path: '/recordings?vehicle=KV-112', sees: 'table.list tbody tr', act: toSignals },
  { name: 'limits', path: '/limits', sees: '.stage-rows' },
  { name: 'limits-signals', path: '/limits?view=signals', sees: 'h1' },
  { name: 'ranking-rules', path: '/ranking-rules', sees: 'form, table' },
  {
    name: 'query',
    path: '/query',
    sees: '.cm-content',
    act: async (tab) => {
      await tab.getByRole('button', { name: 'Run' }).click();
      await tab.waitForSelector('table.grid tbody tr:not(.spacer)');
    },
  },
];

mkdirSync(out, { recursive: true });
const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
try {
  for (const page of PAGES.filter(({ name }) => !only || name.startsWith(only)))
    for (const size of page.sizes ?? Object.keys(SIZES))
      for (const theme of size === 'desk' ? ['light', 'dark'] : ['light']) await picture(page, size, theme);
} finally {
  await browser.close();
}

async function picture({ name, path, sees, act }, size, theme) {
  const tab = await browser.newPage({ viewport: SIZES[size], colorScheme: theme });
  try {
    await tab.goto(new URL(path, url).href, { waitUntil: 'networkidle' });
    await tab.waitForSelector(sees, { timeout: 20_000 });
    if (act) await act(tab);
    await tab.waitForLoadState('networkidle');
    const file = `${name}-${size}${theme === 'dark' ? '-dark' : ''}.png`;
    await tab.screenshot({ path: join(out, file), animations: 'disabled' });
    console.log(file);
  } finally {
    await tab.close();
  }
}

/** The vehicle's newest recording, the cursor at its first marker or episode, once its values are those of rows. */
async function toEpisode(tab) {
  await tab.click('table.list tbody a');
  await tab.waitForSelector('.lane');
  await tab.focus('.clock');
  await tab.keyboard.press('n');
  await tab.mouse.move(0, 0);
  await tab.evaluate(() => document.activeElement?.blur());
  await tab.waitForFunction(() => !document.querySelector('.lane-value')?.textContent?.includes('≈'));
}

async function toSignals(tab) {
  await toEpisode(tab);
  await tab.waitForFunction(() => !document.querySelector('.all-signals')?.textContent?.includes('≈'));
  await tab.evaluate(() => document.querySelector('.recording-lists')?.scrollIntoView());
}

/** Waits for every part of a long page, then brings one to the top. */
async function toPart(tab, id) {
  await tab.waitForFunction(() => document.querySelectorAll('.loading').length === 0);
  if (id !== '') await tab.evaluate((part) => document.getElementById(part).scrollIntoView(), id);
}

function optionValue(option) {
  const index = process.argv.indexOf(option);
  return index < 0 ? undefined : process.argv[index + 1];
}
