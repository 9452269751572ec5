import { mkdir, rm } from 'node:fs/promises';
import { join } from 'node:path';
import type { Ranking } from '@tallybay/contracts';
import { bytesText, countText, durationText, plural } from '../output/numbers.js';
import { withDepotNames } from '../rank/rank.command.js';
import { rankingLines } from '../rank/ranking-lines.js';
import type { Terminal } from '../terminal.js';
import { summaryLine } from '../upload/upload-screen.js';
import { fetchUploads, uploadLines } from '../uploads/uploads.command.js';
import { ChildService, freePort } from './child-service.js';
import { unexpected } from './demo-check.js';
import { type DemoFleet, provideFleet } from './demo-fleet.js';
import type { DemoOptions } from './demo-options.js';
import { DemoPath } from './demo-path.js';
import { planShop } from './demo-shop.js';

/** A table longer than a screen tells nobody anything; the whole ranking is one command away. */
const SHOWN_VEHICLES = 8;
const SHOWN_REASONS = 3;

/** Runs the whole path once. @returns the exit code: 0 only if everything went as the fleet's manifest says */
export async function runDemo(options: DemoOptions, terminal: Terminal): Promise<number> {
  const say = (line: string) => terminal.out(line);
  say('Tallybay demo: the fleet of the Kestrel Valley Water District, an invented place.\n');
  const { seed, vehicles, weeks, start, scale } = options;
  const step = stepper(say);
  const fleet = await step('Make the fleet', () =>
    provideFleet(
      join(options.data, 'fleet'),
      { ...withoutUndefined({ seed, vehicles, weeks, start, scale }), nowMs: Date.now() },
      say,
    ),
  );
  say(fleetLine(fleet));
  const home = join(options.data, 'home');
  if (fleet.isNew) await rm(home, { recursive: true, force: true });
  await mkdir(home, { recursive: true });
  const services = await step('Start the services', () => startServices(home, options, terminal.signal));
  try {
    const { api, ingest } = services.urls;
    say(`  receiving at ${ingest}, asking at ${api}, data in ${home}`);
    const failures = await walk(new DemoPath(services.urls, fleet, terminal), { fleet, home, step, say });
    if (failures.length === 0)
      say('\nChecked: what came of each file, and of each row in it, is what the generator had planned.');
    for (const failure of failures) terminal.note(`not as expected: ${failure}`);
    if (!options.once) await serveOn(services, say, terminal.signal);
    return failures.length === 0 ? 0 : 1;
  } catch (error) {
    if (!terminal.signal.aborted) terminal.note(`What the services printed is in ${home}/ingest.log and api.log.`);
    throw error;
  } finally {
    await services.stop();
  }
}

type Step = <T>(name: string, action: () => Promise<T>) => Promise<T>;

/** Says what is under way before, and how long it took after. */
function stepper(say: (line: string) => void): Step {
  let number = 0;
  return async (name, action) => {
    const startedAt = Date.now();
    say(`${++number}. ${name}`);
    const result = await action();
    say(`  done in ${durationText((Date.now() - startedAt) / 1000)}`);
    return result;
  };
}

async function walk(
  path: DemoPath,
  at: { fleet: DemoFleet; home: string; step: Step; say: (line: string) => void },
): Promise<string[]> {
  const { fleet, home, step, say } = at;
  await step('Register vehicles and recorders', () => path.register());
  const results = await step('Send logs and snapshots', () => path.upload(join(home, 'sender')));
  say(`  ${summaryLine(results)}`);
  const states = await step('Decode what is left on the stream', () => path.settle());
  say(
    `  ${Object.entries(states)
      .map(([state, count]) => `${countText(count)} ${state}`)
      .join(', ')}`,
  );
  const rankings = await step('Rank each week', () => path.rank());
  const shown = rankings.at(-1);
  if (shown) showRanking(await withDepotNames(path.client, shown), say);
  const plan = await step('Plan the shop, inspections due from today on', async () => {
    await path.moveDates(Date.now());
    return planShop(path.client);
  });
  for (const line of plan) say(line);
  const waiting = await fetchUploads(path.client, { state: 'waiting', limit: 100 });
  say('\nWhat waits for a person');
  for (const line of uploadLines(waiting, 'waiting')) say(`  ${line}`);
  for (const line of lakeLines(home)) say(line);
  const stored = await fetchUploads(path.client, { state: 'stored', limit: Number.MAX_SAFE_INTEGER });
  path.client.close();
  return unexpected({ fleet, results, states, rankings, stored });
}

function showRanking(ranking: Ranking, say: (line: string) => void): void {
  say('');
  for (const line of rankingLines(ranking, { top: SHOWN_VEHICLES, reasons: SHOWN_REASONS })) say(line);
}

const fleetLine = ({ directory, logs, snapshots, weeks }: DemoFleet): string => {
  const vehicles = new Set(logs.map((log) => log.vehicle)).size;
  const bytes = bytesText(logs.reduce((sum, log) => sum + log.bytes, 0));
  const rows = countText(logs.reduce((sum, log) => sum + log.rows, 0));
  return (
    `  ${plural(vehicles, 'vehicle')}, weeks ${weeks[0]} to ${weeks.at(-1)}: ${plural(logs.length, 'log')} (${bytes}, ` +
    `${rows} rows), ${plural(snapshots.length, 'snapshot')} in ${directory}`
  );
};

/** The lake is plain Parquet: any DuckDB opens it. */
function lakeLines(home: string): string[] {
  return [
    '\nThe history is plain Parquet. With the DuckDB command line, for instance hours and degrees by vehicle:',
    '',
    `  duckdb -init '${join(home, 'lake', 'lake.sql')}' -c "`,
    '    SELECT vehicle_id, round(sum(seconds) / 3600, 2) AS hours, max(max) AS highest_coolant_c',
    "    FROM dwell WHERE signal = 'coolant_temp_c' GROUP BY vehicle_id ORDER BY highest_coolant_c DESC LIMIT 10\"",
  ];
}

interface Services {
  urls: { api: string; ingest: string };
  running: ChildService[];
  stop(): Promise<void>;
}

async function startServices(home: string, options: DemoOptions, signal: AbortSignal): Promise<Services> {
  const ingestPort = options.ingestPort ?? (await freePort(8081));
  const apiPort = options.apiPort ?? (await freePort(8080));
  const urls = { api: `http://127.0.0.1:${apiPort}`, ingest: `http://127.0.0.1:${ingestPort}` };
  const env = {
    ...withoutUndefined(process.env),
    TALLYBAY_HOME: home,
    TALLYBAY_HOST: '127.0.0.1',
    TALLYBAY_API_PORT: String(apiPort),
    TALLYBAY_INGEST_PORT: String(ingestPort),
    TALLYBAY_INGEST_URL: urls.ingest,
    // Queries of DuckDB run on libuv's pool; the default of four would hold up file access.
    UV_THREADPOOL_SIZE: '16',
  };
  const running: ChildService[] = [];
  const stop = async () => void (await Promise.all(running.map((service) => service.stop())));
  try {
    for (const app of ['ingest', 'api'] as const)
      running.push(await ChildService.run({ app, url: urls[app], env, logFile: join(home, `${app}.log`), signal }));
  } catch (error) {
    await stop();
    throw error;
  }
  return { urls, running, stop };
}

/** Serves until Ctrl-C, or until one of the services ends by itself. */
async function serveOn(services: Services, say: (line: string) => void, signal: AbortSignal): Promise<void> {
  say(
    `\nServing at ${services.urls.api} (its REST interface: /openapi.json). Try: npx tallybay rank --url ${services.urls.api}`,
  );
  say('Stop with Ctrl-C.');
  const ended = await Promise.race([
    ...services.running.map((service) => service.ended.then(() => service)),
    aborted(signal),
  ]);
  if (ended && !signal.aborted) throw ended.endProblem();
}

function withoutUndefined<T>(object: Record<string, T | undefined>): Record<string, T> {
  return Object.fromEntries(Object.entries(object).filter((entry): entry is [string, T] => entry[1] !== undefined));
}

function aborted(signal: AbortSignal): Promise<null> {
  return new Promise((resolve) => {
    if (signal.aborted) resolve(null);
    signal.addEventListener('abort', () => resolve(null), { once: true });
  });
}
