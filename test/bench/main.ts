import './heap-growth.js';
import { Command, InvalidArgumentError } from 'commander';
import { type IngestBenchResult, runIngestBench, type SideFigures } from './ingest/ingest-bench.js';
import { runMemoryBench } from './ingest/memory-bench.js';
import { describePlan, runPlanBench } from './plan/plan-bench.js';
import { describeQuery, isQueryMet } from './query/describe-query.js';
import { runQueryBench } from './query/query-bench.js';
import { describePage, runPageBench } from './web/page-bench.js';
import { describeWorkers, runWorkersBench } from './workers/workers-bench.js';

const whole = (text: string): number => {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new InvalidArgumentError('must be a whole number of 1 or more');
  return value;
};
const tell = (line: string) => process.stderr.write(`${line}\n`);
const program = new Command('bench').description('Speed, as a ratio against a peer in the same run');

program
  .command('ingest')
  .description('HTTP to queryable, against DuckDB alone on the same files')
  .option('--logs <n>', 'logs', whole, 50)
  .option('--rows <n>', 'rows a log', whole, 36_000)
  .option('--columns <n>', 'channels a log', whole, 60)
  .option('--seed <n>', 'seed of the input', whole, 1)
  .option('--repeats <n>', 'turns of both sides, medians are reported', whole, 3)
  .option('--json', 'one JSON object on standard output')
  .action(async ({ json, ...options }) => {
    const result = await runIngestBench(options, tell);
    process.stdout.write(json ? `${JSON.stringify(result)}\n` : describe(result));
  });

program
  .command('memory')
  .description('Peak memory of the service while one large log goes through it')
  .option('--megabytes <n>', 'size of the log', whole, 1024)
  .option('--limit <n>', 'fail above this many MB of resident memory', whole, 400)
  .action(async (options) => {
    const { peakMegabytes, bytes, rows, seconds } = await runMemoryBench(options, tell);
    const verdict = peakMegabytes <= options.limit ? 'within' : 'ABOVE';
    process.stdout.write(
      `${(bytes / 1e6).toFixed(0)} MB, ${rows} rows, ${seconds.toFixed(1)} s: peak ${peakMegabytes.toFixed(0)} MB, ${verdict} the limit of ${options.limit} MB\n`,
    );
    if (peakMegabytes > options.limit) process.exitCode = 1;
  });

program
  .command('workers')
  .description('A backlog on Kafka, worked off by one decode worker and by two')
  .option('--logs <n>', 'logs', whole, 120)
  .option('--seed <n>', 'seed of the input', whole, 1)
  .option('--repeats <n>', 'turns of each, medians are reported', whole, 3)
  .option('--json', 'one JSON object on standard output')
  .action(async ({ json, ...options }) => {
    const result = await runWorkersBench(options, tell);
    process.stdout.write(json ? `${JSON.stringify(result)}\n` : describeWorkers(result));
  });

program
  .command('page')
  .description('The page with one long log in a real browser: first paint, zoom, pan')
  .option('--hours <n>', 'length of the log', whole, 24)
  .option('--seed <n>', 'seed of the input', whole, 1)
  .option('--repeats <n>', 'times the page is opened, the median is reported', whole, 5)
  .option('--json', 'one JSON object on standard output')
  .action(async ({ json, ...options }) => {
    const result = await runPageBench(options, tell);
    process.stdout.write(json ? `${JSON.stringify(result)}\n` : describePage(result));
  });

program
  .command('query')
  .description('SQL through the service against DuckDB by hand, Arrow in MB/s, and ingest beside analysts')
  .option('--logs <n>', 'logs in the lake', whole, 30)
  .option('--more <n>', 'logs that are sent while analysts ask', whole, 20)
  .option('--rows <n>', 'rows a log', whole, 36_000)
  .option('--people <n>', 'analysts', whole, 20)
  .option('--seed <n>', 'seed of the input', whole, 1)
  .option('--repeats <n>', 'turns of both sides, medians are reported', whole, 3)
  .option('--json', 'one JSON object on standard output')
  .action(async ({ json, ...options }) => {
    const result = await runQueryBench(options, tell);
    process.stdout.write(json ? `${JSON.stringify(result)}\n` : describeQuery(result));
    if (!isQueryMet(result)) process.exitCode = 1;
  });

program
  .command('plan')
  .description('The shop plan against its proven bound and against the list by rank')
  .option('--inspections <n>', 'inspections', whole, 500)
  .option('--bays <n>', 'bays', whole, 8)
  .option('--days <n>', 'working days', whole, 20)
  .option('--seconds <n>', 'time for planning', whole, 30)
  .option('--seed <n>', 'seed of the shop', whole, 1)
  .option('--narrow', 'people of one trade each: a harder shop', false)
  .option('--cpu', 'count CPU seconds instead of the wall clock', false)
  .option('--limit <percent>', 'fail when the plan is further than this from the bound', Number, 2)
  .option('--json', 'one JSON object on standard output')
  .action(async ({ json, limit, ...options }) => {
    const result = await runPlanBench(options);
    process.stdout.write(json ? `${JSON.stringify(result)}\n` : describePlan(result));
    if (result.gap * 100 > limit || result.violations > 0 || result.saved <= 0) process.exitCode = 1;
  });

await program.parseAsync();

function describe(result: IngestBenchResult): string {
  const side = (name: string, figures: SideFigures) =>
    `${name.padEnd(22)} ${(figures.valuesPerSecond / 1e6).toFixed(1).padStart(7)} M values/s  ${figures.seconds.toFixed(1).padStart(6)} s  ${figure(figures.cpuSeconds)} CPU s  ${figure(figures.peakBytes === null ? null : figures.peakBytes / 1e6)} MB peak`;
  const { logs, rows, columns, repeats } = result.options;
  return [
    `${logs} logs of ${rows} rows x ${columns} channels, ${(result.bytes / 1e6).toFixed(0)} MB, medians of ${repeats}`,
    side('HTTP to queryable', result.ours),
    side('DuckDB alone', result.duckdb),
    `ratio ${result.ratio.toFixed(2)} (ours / DuckDB; pairs ${result.samples.ratios.map((ratio) => ratio.toFixed(2)).join(', ')})`,
    '',
  ].join('\n');
}

function figure(value: number | null): string {
  return (value === null ? 'unknown' : value.toFixed(value < 100 ? 1 : 0)).padStart(7);
}
