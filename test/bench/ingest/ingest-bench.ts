import { execFileSync } from 'node:child_process';
import { mkdirSync, readdirSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { LogPlan } from '@tallybay/decode';
import { Lake } from '@tallybay/lake';
import { z } from 'zod';
import { IngestService } from '../../service/ingest-service.js';
import { planOf, prepareInput } from './input.js';
import { sendLog } from './send-log.js';

export interface IngestBenchOptions {
  logs: number;
  rows: number;
  columns: number;
  seed: number;
  repeats: number;
}

export interface SideFigures {
  seconds: number;
  valuesPerSecond: number;
  cpuSeconds: number | null;
  peakBytes: number | null;
}

export interface IngestBenchResult {
  options: IngestBenchOptions;
  bytes: number;
  values: number;
  ours: SideFigures;
  duckdb: SideFigures;
  /** Ours / DuckDB's in values a second; above 1 the whole path is faster than DuckDB's COPY alone. */
  ratio: number;
  samples: { ours: number[]; duckdb: number[]; ratios: number[] };
}

/** Senders at once: two keep both halves of the path busy. */
const SENDERS = 3;
const DUCKDB = fileURLToPath(new URL('./duckdb-alone.js', import.meta.url));

export async function runIngestBench(
  options: IngestBenchOptions,
  tell: (line: string) => void,
): Promise<IngestBenchResult> {
  const input = await prepareInput(options, tell);
  const files = readdirSync(input)
    .filter((name) => name.endsWith('.csv'))
    .sort();
  const bytes = files.reduce((sum, name) => sum + statSync(join(input, name)).size, 0);
  const values = options.logs * options.rows * options.columns;
  const plan = planOf(join(input, files[0]!));
  const ours: SideFigures[] = [];
  const duckdb: SideFigures[] = [];
  for (let turn = 0; turn < options.repeats; turn++) {
    tell(`turn ${turn + 1} of ${options.repeats}: DuckDB alone`);
    duckdb.push(sideOf(values, duckDbTurn(input, plan)));
    tell(`turn ${turn + 1} of ${options.repeats}: HTTP to queryable`);
    ours.push(sideOf(values, await ourTurn(input, files, options)));
  }
  const ratios = ours.map((side, i) => side.valuesPerSecond / duckdb[i]!.valuesPerSecond);
  return {
    options,
    bytes,
    values,
    ours: medianSide(ours),
    duckdb: medianSide(duckdb),
    ratio: median(ratios),
    samples: { ours: ours.map((side) => side.seconds), duckdb: duckdb.map((side) => side.seconds), ratios },
  };
}

interface RawFigures {
  seconds: number;
  cpuSeconds: number | null;
  peakBytes: number | null;
}

function duckDbTurn(input: string, plan: LogPlan): RawFigures {
  const output = join(tmpdir(), 'tallybay-bench', 'duckdb-out');
  rmSync(output, { recursive: true, force: true });
  mkdirSync(output, { recursive: true });
  const job = JSON.stringify({ input, output, plan, filesAtOnce: 2 });
  const printed = execFileSync(process.execPath, [DUCKDB, '--job', job], { encoding: 'utf8' });
  rmSync(output, { recursive: true, force: true });
  return JSON.parse(printed) as RawFigures;
}

async function ourTurn(input: string, files: string[], options: IngestBenchOptions): Promise<RawFigures> {
  const home = join(tmpdir(), 'tallybay-bench', `home-${process.pid}`);
  rmSync(home, { recursive: true, force: true });
  const vehicleOf = (i: number) => `BENCH-${i % 10}`;
  const service = await IngestService.start(
    home,
    Array.from({ length: 10 }, (_, i) => vehicleOf(i)),
  );
  try {
    const before = service.figures();
    const start = performance.now();
    const queue = files.map((name, i) => ({ file: join(input, name), vehicle: vehicleOf(i) }));
    await Promise.all(
      Array.from({ length: SENDERS }, async () => {
        for (let next = queue.shift(); next; next = queue.shift()) await sendLog(service.url, next.file, next.vehicle);
      }),
    );
    await service.untilStored(files.length);
    const seconds = (performance.now() - start) / 1000;
    const after = service.figures();
    await checkLake(service.lake, options);
    return {
      seconds,
      cpuSeconds: before && after ? after.cpuSeconds - before.cpuSeconds : null,
      peakBytes: after?.peakBytes ?? null,
    };
  } finally {
    await service.stop();
    rmSync(home, { recursive: true, force: true });
  }
}

/** A fast wrong answer is no answer: the rows must all be there, with drives and dwell. */
async function checkLake(directory: string, options: IngestBenchOptions): Promise<void> {
  const lake = await Lake.open(directory);
  try {
    const row = z.object({ samples: z.number(), drives: z.number(), dwell: z.number() });
    const [found] = await lake.query(
      `SELECT (SELECT count(*) FROM samples) AS samples, (SELECT count(*) FROM drives) AS drives,
              (SELECT count(*) FROM dwell) AS dwell`,
      row,
    );
    if (found!.samples !== options.logs * options.rows || found!.drives < options.logs || found!.dwell === 0)
      throw new Error(`the lake holds ${JSON.stringify(found)}`);
  } finally {
    lake.close();
  }
}

const sideOf = (values: number, raw: RawFigures): SideFigures => ({ ...raw, valuesPerSecond: values / raw.seconds });

function medianSide(sides: SideFigures[]): SideFigures {
  const of = (pick: (side: SideFigures) => number | null): number | null => {
    const known = sides.map(pick).filter((value) => value !== null);
    return known.length > 0 ? median(known) : null;
  };
  return {
    seconds: of((side) => side.seconds)!,
    valuesPerSecond: of((side) => side.valuesPerSecond)!,
    cpuSeconds: of((side) => side.cpuSeconds),
    peakBytes: of((side) => side.peakBytes),
  };
}

function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
