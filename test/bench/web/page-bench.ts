import { rmSync } from 'node:fs';
import { request } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { type Browser, chromium, type Page } from 'playwright-core';
import { ApiProcess } from '../../service/api-process.js';
import { IngestService } from '../../service/ingest-service.js';
import { LONG_LOG, longLog } from './long-log.js';

export interface PageBenchOptions {
  hours: number;
  seed: number;
  repeats: number;
}

/** Frames of one movement of the view, as the page's own clock saw them. */
export interface Frames {
  perSecond: number;
  p50Ms: number;
  p95Ms: number;
  worstMs: number;
  /** Of each frame: the page's own script, style and layout, and everything else on its main thread. */
  scriptMs: number;
  layoutMs: number;
  restMs: number;
  /** Processor time of the main thread: other work on the machine does not count here, as it does above. */
  cpuMs: number;
}

export interface PageBenchResult {
  options: PageBenchOptions;
  rows: number;
  /** The server's answer to the first request of the plots: never asked before, by a fresh process, asked again. */
  traceMs: { cold: number; fresh: number; warm: number };
  /** From the last byte of that answer to the first frame that was drawn from it. */
  paintMs: number[];
  zoom: Frames;
  pan: Frames;
}

const VEHICLE = 'BENCH-0';
const MOVED_FRAMES = 240;

/** The page with one long log in a real browser: how soon it is seen, and how smoothly it zooms and pans. */
export async function runPageBench(options: PageBenchOptions, tell: (line: string) => void): Promise<PageBenchResult> {
  const home = join(tmpdir(), 'tallybay-bench', `page-${process.pid}`);
  rmSync(home, { recursive: true, force: true });
  const ingest = await IngestService.start(home, [VEHICLE]);
  let api: ApiProcess | null = null;
  let browser: Browser | null = null;
  try {
    tell(`sending a log of ${options.hours} h`);
    const upload = await send(`${ingest.url}/v1/logs?vehicle=${VEHICLE}`, options);
    const { counts } = await ingest.untilDone(upload);
    if (!counts) throw new Error(`the log ${upload} was not stored`);
    const traceMs = { cold: 0, fresh: 0, warm: 0 };
    api = await ApiProcess.start(home, ingest.url);
    traceMs.cold = await traceTook(api.url, upload);
    await api.stop();
    api = await ApiProcess.start(home, ingest.url);
    traceMs.fresh = await traceTook(api.url, upload);
    traceMs.warm = await traceTook(api.url, upload);
    const executablePath = process.env.TALLYBAY_CHROMIUM ?? '/usr/bin/chromium';
    browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] });
    const paintMs: number[] = [];
    for (let turn = 0; turn < options.repeats; turn++) {
      const page = await opened(browser, api.url, upload);
      paintMs.push(await paintDelay(page));
      if (turn + 1 < options.repeats) await page.close();
    }
    tell('zooming and panning');
    const page = browser.contexts().at(-1)!.pages().at(-1)!;
    const zoom = await framesOf(page, ZOOM);
    const pan = await framesOf(page, PAN);
    return { options, rows: counts.rowsKept, traceMs, paintMs, zoom, pan };
  } finally {
    await browser?.close();
    await api?.stop();
    await ingest.stop();
    rmSync(home, { recursive: true, force: true });
  }
}

async function send(url: string, { hours, seed }: PageBenchOptions): Promise<string> {
  return new Promise((resolve, reject) => {
    const outgoing = request(url, { method: 'POST' }, (response) => {
      let text = '';
      response.setEncoding('utf8').on('data', (part: string) => {
        text += part;
      });
      response.on('end', () =>
        response.statusCode === 202 ? resolve((JSON.parse(text) as { id: string }).id) : reject(new Error(text)),
      );
    });
    outgoing.on('error', reject);
    Readable.from(longLog(hours, seed), { objectMode: false }).on('error', reject).pipe(outgoing);
  });
}

async function traceTook(url: string, upload: string): Promise<number> {
  const recording = (await (await fetch(`${url}/v1/recordings/${upload}`)).json()) as {
    signals: { signal: string }[];
  };
  const signals = recording.signals.map(({ signal }) => signal).join(',');
  const startedAt = performance.now();
  const answer = await fetch(`${url}/v1/recordings/${upload}/trace?signals=${signals}&points=1200`);
  await answer.arrayBuffer();
  return performance.now() - startedAt;
}

/** All signals drawn, after the columns of the whole recording have come as well. */
async function opened(browser: Browser, url: string, upload: string): Promise<Page> {
  const page = await browser.newPage({ viewport: { width: 1280, height: 1100 } });
  const recording = (await (await fetch(`${url}/v1/recordings/${upload}`)).json()) as {
    signals: { signal: string }[];
  };
  const signals = recording.signals.map(({ signal }) => signal);
  if (signals.length !== LONG_LOG.signals)
    throw new Error(`the log holds ${signals.join()}, not ${LONG_LOG.signals} signals`);
  await page.goto(`${url}/recordings/${upload}?signals=${signals.join(',')}`, { waitUntil: 'networkidle' });
  return page;
}

/** From the answer that the plots waited for to the first drawing from it. */
async function paintDelay(page: Page): Promise<number> {
  return page.evaluate<number>(`
    (async () => {
      while (performance.getEntriesByName('recording-drawn').length === 0)
        await new Promise((resolve) => setTimeout(resolve, 20));
      const drawn = performance.getEntriesByName('recording-drawn')[0].startTime;
      const answers = performance.getEntriesByType('resource').filter(({ name }) => name.includes('/trace?'));
      return drawn - answers[0].responseEnd;
    })()`);
}

/** One wheel notch a frame: in and out again over the whole recording, and along it at a tenth of its length. */
const ZOOM = `(frame, plot, box) => plot.dispatchEvent(new WheelEvent('wheel', {
  bubbles: true, cancelable: true, clientX: box.left + box.width * 0.55, clientY: box.top + 20,
  deltaY: frame % 120 < 60 ? -40 : 40 }))`;
const PAN = `(frame, plot, box) => {
  if (frame === 0) for (let notch = 0; notch < 12; notch++) plot.dispatchEvent(new WheelEvent('wheel', {
    bubbles: true, cancelable: true, clientX: box.left + box.width * 0.5, clientY: box.top + 20, deltaY: -100 }));
  plot.dispatchEvent(new WheelEvent('wheel', { bubbles: true, cancelable: true, shiftKey: true,
    clientX: box.left + box.width * 0.5, clientY: box.top + 20, deltaY: frame % 120 < 60 ? 40 : -40 }));
}`;

async function framesOf(page: Page, move: string): Promise<Frames> {
  const session = await page.context().newCDPSession(page);
  await session.send('Performance.enable');
  const before = await metrics(session);
  const steps = await page.evaluate<number[]>(`
    new Promise((resolve) => {
      const plot = document.querySelector('.lane-plot');
      const box = plot.getBoundingClientRect();
      const move = ${move};
      const times = [];
      const next = (now) => {
        times.push(now);
        if (times.length > ${MOVED_FRAMES}) return resolve(times.slice(1).map((time, index) => time - times[index]));
        move(times.length - 1, plot, box);
        requestAnimationFrame(next);
      };
      requestAnimationFrame(next);
    })`);
  const after = await metrics(session);
  await session.detach();
  const perFrame = (name: string) => ((after.get(name) ?? 0) - (before.get(name) ?? 0)) * (1000 / steps.length);
  const sorted = [...steps].sort((a, b) => a - b);
  const at = (share: number) => sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))]!;
  const layoutMs = perFrame('LayoutDuration') + perFrame('RecalcStyleDuration');
  return {
    perSecond: 1000 / (steps.reduce((sum, step) => sum + step, 0) / steps.length),
    ...{ p50Ms: at(0.5), p95Ms: at(0.95), worstMs: sorted.at(-1)! },
    ...{ scriptMs: perFrame('ScriptDuration'), layoutMs },
    restMs: perFrame('TaskDuration') - perFrame('ScriptDuration') - layoutMs,
    cpuMs: perFrame('ThreadTime'),
  };
}

async function metrics(session: {
  send(method: 'Performance.getMetrics'): Promise<{ metrics: { name: string; value: number }[] }>;
}): Promise<Map<string, number>> {
  const { metrics: all } = await session.send('Performance.getMetrics');
  return new Map(all.map(({ name, value }) => [name, value]));
}

const AIM = { paintMs: 300, framesPerSecond: 50 };

/** Figures in words, with what holds the frames up where they are too few. */
export function describePage({ options, rows, traceMs, paintMs, zoom, pan }: PageBenchResult): string {
  const sorted = [...paintMs].sort((a, b) => a - b);
  const paint = sorted[Math.floor(sorted.length / 2)]!;
  return [
    `${options.hours} h, ${rows} rows, ${LONG_LOG.signals} signals in 1280 px`,
    `plots' data from the server: ${traceMs.cold.toFixed(0)} ms the first time ever, ${traceMs.fresh.toFixed(0)} ms from a fresh process, ${traceMs.warm.toFixed(0)} ms again`,
    `first paint ${paint.toFixed(0)} ms after the data (median of ${paintMs.length}), ${verdict(paint <= AIM.paintMs)} ${AIM.paintMs} ms`,
    frameLine('zoom', zoom),
    frameLine('pan', pan),
    '',
  ].join('\n');
}

function frameLine(name: string, frames: Frames): string {
  const { perSecond, p50Ms, p95Ms, worstMs, scriptMs, layoutMs, restMs, cpuMs } = frames;
  const shares = {
    'the page’s script': scriptMs,
    'style and layout': layoutMs,
    'handing drawings to the compositor': restMs,
  };
  const most = Object.entries(shares).sort((a, b) => b[1] - a[1])[0]!;
  const limit =
    perSecond >= AIM.framesPerSecond
      ? ''
      : cpuMs >= 1000 / AIM.framesPerSecond
        ? `; limited by ${most[0]}`
        : '; its main thread would keep up: limited by raster without a graphics card or other work on this machine';
  return `${name.padEnd(5)} ${perSecond.toFixed(0)} frames/s, ${verdict(perSecond >= AIM.framesPerSecond)} ${AIM.framesPerSecond}; steps ${p50Ms.toFixed(0)} / ${p95Ms.toFixed(0)} / ${worstMs.toFixed(0)} ms (median, 95 %, worst); a frame: script ${scriptMs.toFixed(1)} ms, layout ${layoutMs.toFixed(1)} ms, other ${restMs.toFixed(1)} ms, ${cpuMs.toFixed(1)} ms of processor time${limit}`;
}

const verdict = (good: boolean): string => (good ? 'meets' : 'MISSES');
