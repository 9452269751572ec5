import { cpSync, readdirSync, rmSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { ApiProcess } from '../../service/api-process.js';
import { IngestService } from '../../service/ingest-service.js';
import { familyCpuSeconds } from '../../service/process-figures.js';
import { planOf, prepareInput } from '../ingest/input.js';
import { sendLog } from '../ingest/send-log.js';
import { Analysts, type AnalystsFigures } from './analysts.js';
import { mustAsk } from './ask.js';
import { ByHand } from './by-hand.js';
import { bulk, heavy as heavyStatements } from './statements.js';

export interface QueryBenchOptions {
  /** Logs that are in the lake before anybody asks. */
  logs: number;
  /** Logs that are sent while analysts ask, and once while nobody does. */
  more: number;
  rows: number;
  people: number;
  seed: number;
  repeats: number;
}

export interface StatementFigures {
  name: string;
  /** Medians, seconds from asking to the last byte. */
  ours: number;
  byHand: number;
  /** Median of the pairs, ours / by hand. */
  ratio: number;
  /** The same of CPU seconds, which other work on the machine changes less; null where the system does not tell. */
  cpuRatio: number | null;
  /** Bytes of the answer, and millions of them a second. */
  bytes: number;
  megabytesPerSecond: number;
}

export interface QueryBenchResult {
  options: QueryBenchOptions;
  cores: number;
  heavy: StatementFigures[];
  arrow: StatementFigures[];
  ingest: {
    /** Rows a second from the first byte until all is queryable. */
    alone: number[];
    beside: number[];
    /** Median of the pairs, beside / alone. */
    ratio: number;
    analysts: AnalystsFigures[];
  };
}

type Tell = (line: string) => void;

const ARROW = 'application/vnd.apache.arrow.stream';
const VEHICLES = Array.from({ length: 10 }, (_, i) => `BENCH-${i}`);
const SENDERS = 3;

/** What asking through the service costs over DuckDB by hand, how fast Arrow comes, and what analysts take from ingest. */
export async function runQueryBench(options: QueryBenchOptions, tell: Tell): Promise<QueryBenchResult> {
  const input = await prepareInput({ ...options, logs: options.logs + options.more, columns: 60 }, tell);
  const files = readdirSync(input)
    .filter((name) => name.endsWith('.csv'))
    .sort()
    .map((name) => join(input, name));
  const base = join(tmpdir(), 'tallybay-bench', `query-${process.pid}`);
  rmSync(base, { recursive: true, force: true });
  try {
    tell(`putting ${options.logs} logs into a lake`);
    const ingest = await IngestService.start(base, VEHICLES);
    try {
      await sendAll(ingest, files.slice(0, options.logs), options.logs);
    } finally {
      await ingest.stop();
    }
    const signals = planOf(files[0]!).signals;
    const { heavy, arrow } = await besideDuckDb(base, signals, options, tell);
    const ingestFigures = await besideIngest(base, files.slice(options.logs), options, tell);
    return { options, cores: availableParallelism(), heavy, arrow, ingest: ingestFigures };
  } finally {
    rmSync(base, { recursive: true, force: true });
  }
}

async function besideDuckDb(
  home: string,
  signals: readonly string[],
  options: QueryBenchOptions,
  tell: Tell,
): Promise<Pick<QueryBenchResult, 'heavy' | 'arrow'>> {
  // No ingest service runs: nothing but the two sides is measured.
  const api = await ApiProcess.start(home, 'http://127.0.0.1:9');
  const peer = await ByHand.start({ lake: join(home, 'lake'), threads: availableParallelism() });
  try {
    await lift(api.url);
    const pair = (name: string, sql: string, accept: string) =>
      compare({ name, sql, accept, api, peer, repeats: options.repeats, tell });
    const heavy: StatementFigures[] = [];
    const arrow: StatementFigures[] = [];
    for (const [name, sql] of Object.entries(heavyStatements(signals)))
      heavy.push(await pair(name, sql, 'application/json'));
    for (const [name, sql] of Object.entries(bulk(signals))) arrow.push(await pair(name, sql, ARROW));
    return { heavy, arrow };
  } finally {
    await peer.stop();
    await api.stop();
  }
}

interface Comparison {
  name: string;
  sql: string;
  accept: string;
  api: ApiProcess;
  peer: ByHand;
  repeats: number;
  tell: Tell;
}

/** In turns, after one of each that does not count. */
async function compare({ name, sql, accept, api, peer, repeats, tell }: Comparison): Promise<StatementFigures> {
  const turns: { ours: number; byHand: number; oursCpu: number | null; byHandCpu: number; bytes: number }[] = [];
  for (let turn = 0; turn <= repeats; turn++) {
    const hand = await peer.ask(sql);
    const cpuBefore = familyCpuSeconds(api.pid);
    const answer = await mustAsk(api.url, { sql, accept });
    const cpuAfter = familyCpuSeconds(api.pid);
    const { rows } = (await (await fetch(`${api.url}/v1/query/${answer.id}`)).json()) as { rows: number };
    if (rows !== hand.rows) throw new Error(`${name}: ${rows} rows, by hand ${hand.rows}`);
    const oursCpu = cpuBefore === null || cpuAfter === null ? null : cpuAfter - cpuBefore;
    const { seconds: ours, bytes } = answer;
    if (turn > 0) turns.push({ ours, byHand: hand.seconds, oursCpu, byHandCpu: hand.cpuSeconds, bytes });
  }
  const ours = median(turns.map((turn) => turn.ours));
  const { bytes } = turns[0]!;
  const figures = {
    ...{ name, ours, byHand: median(turns.map((turn) => turn.byHand)), bytes },
    ratio: median(turns.map((turn) => turn.ours / turn.byHand)),
    cpuRatio: turns.some(({ oursCpu }) => oursCpu === null)
      ? null
      : median(turns.map((turn) => turn.oursCpu! / turn.byHandCpu)),
    megabytesPerSecond: bytes / 1e6 / ours,
  };
  tell(`${name}: ${figures.ours.toFixed(2)} s, by hand ${figures.byHand.toFixed(2)} s`);
  return figures;
}

async function besideIngest(
  base: string,
  files: string[],
  options: QueryBenchOptions,
  tell: Tell,
): Promise<QueryBenchResult['ingest']> {
  const alone: number[] = [];
  const beside: number[] = [];
  const analysts: AnalystsFigures[] = [];
  for (let turn = 1; turn <= options.repeats; turn++) {
    tell(`turn ${turn} of ${options.repeats}: ingest alone`);
    alone.push((await ingestTurn(base, files, options, 0)).rowsPerSecond);
    tell(`turn ${turn} of ${options.repeats}: ingest beside ${options.people} analysts`);
    const { rowsPerSecond, figures } = await ingestTurn(base, files, options, options.people);
    beside.push(rowsPerSecond);
    analysts.push(figures);
  }
  return { alone, beside, analysts, ratio: median(beside.map((rate, i) => rate / alone[i]!)) };
}

/** The same logs into a copy of the same home, with the api running either way. */
async function ingestTurn(
  base: string,
  files: string[],
  options: QueryBenchOptions,
  people: number,
): Promise<{ rowsPerSecond: number; figures: AnalystsFigures }> {
  const home = `${base}-turn`;
  rmSync(home, { recursive: true, force: true });
  cpSync(base, home, { recursive: true });
  const ingest = await IngestService.start(home, VEHICLES);
  let api: ApiProcess | null = null;
  try {
    api = await ApiProcess.start(home, ingest.url);
    await lift(api.url);
    const analysts = new Analysts(api.url, { people, rowsPerLog: options.rows });
    const seconds = await sendAll(ingest, files, options.logs + files.length).catch(async (error) => {
      await analysts.stop();
      throw error;
    });
    const figures = await analysts.stop();
    return { rowsPerSecond: (files.length * options.rows) / seconds, figures };
  } finally {
    await api?.stop();
    await ingest.stop();
    rmSync(home, { recursive: true, force: true });
  }
}

/** Sends and waits until all of it can be queried. @returns seconds */
async function sendAll(ingest: IngestService, files: readonly string[], stored: number): Promise<number> {
  const start = performance.now();
  const queue = files.map((file, i) => ({ file, vehicle: VEHICLES[i % VEHICLES.length]! }));
  await Promise.all(
    Array.from({ length: SENDERS }, async () => {
      for (let next = queue.shift(); next; next = queue.shift()) await sendLog(ingest.url, next.file, next.vehicle);
    }),
  );
  await ingest.untilStored(stored);
  return (performance.now() - start) / 1000;
}

/** What an analyst of large answers is given, and the copies of the registry that the first question waits for. */
async function lift(url: string): Promise<void> {
  const limits = { everyone: { rows: 100_000_000, seconds: 300, memoryMb: 1_024, atOnce: 2 }, people: {} };
  const answer = await fetch(`${url}/v1/query/limits`, {
    method: 'PUT',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(limits),
  });
  if (!answer.ok) throw new Error(`limits: ${answer.status} ${await answer.text()}`);
  await mustAsk(url, { sql: 'SELECT count(*) FROM vehicles', accept: 'application/json' });
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
