import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import { Command, InvalidArgumentError, Option } from 'commander';
import { describeCodes } from './codes/report.js';
import { summariseCodes } from './codes/summary.js';
import { WORSE_RECORDERS } from './fleet/worse-recorders.js';
import { summarise } from './measures/summary.js';
import type { SeedResult } from './measures/vehicle-week.js';
import { describe } from './report.js';
import { optionsOf, type SeedTask } from './seed-task.js';

const whole = (text: string): number => {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new InvalidArgumentError('must be a whole number of 1 or more');
  return value;
};
const seeds = (text: string): number[] => [...new Set(text.split(',').map((item) => whole(item.trim())))];

const program = new Command('eval')
  .description('Rank fleets with planted faults and hold the rankings against the truth')
  .option('--seeds <list>', 'seeds of the fleets', seeds, [1, 2, 3, 4, 5])
  .option('--vehicles <n>', 'vehicles a fleet', whole, 60)
  .option('--weeks <n>', 'weeks a fleet', whole, 8)
  .addOption(new Option('--preset <name>', 'how much they drive').choices(['demo', 'full']).default('demo'))
  .addOption(
    new Option('--path <name>', 'physics at 1 Hz, or logs through the lake')
      .choices(['physics', 'logs'])
      .default('physics'),
  )
  .addOption(
    new Option('--worse <name>', `recorders that tell less (${describeWorse()})`)
      .choices(Object.keys(WORSE_RECORDERS))
      .default('none'),
  )
  .option('--json', 'one JSON object on standard output')
  .parse();
const { json, seeds: wanted, ...rest } = program.opts<Omit<SeedTask, 'seed'> & { seeds: number[]; json?: true }>();
const tasks = wanted.map((seed): SeedTask => ({ ...rest, seed }));
try {
  for (const task of tasks) optionsOf(task);
} catch (error) {
  program.error(`error: ${(error as Error).message}`);
}

const results = await allOf(tasks);
const summary = summarise(results);
const withCodes = results.flatMap(({ codes }) => (codes ? [codes] : []));
const codes = withCodes.length > 0 ? summariseCodes(withCodes) : null;
process.stdout.write(
  json
    ? `${JSON.stringify({ options: { ...rest, seeds: wanted }, summary, codes })}\n`
    : describe(summary) + (codes ? `\n${describeCodes(codes)}` : ''),
);

function describeWorse(): string {
  return Object.entries(WORSE_RECORDERS)
    .map(([name, { about }]) => `${name}: ${about}`)
    .join('; ');
}

/** As many fleets at a time as there are processors; the answer is in the order of the seeds. */
async function allOf(list: readonly SeedTask[]): Promise<SeedResult[]> {
  const done: SeedResult[] = [];
  const queue = [...list.entries()];
  const lane = async () => {
    for (let next = queue.shift(); next; next = queue.shift()) {
      const [index, task] = next;
      done[index] = await inThread(task);
      process.stderr.write(`seed ${task.seed} done\n`);
    }
  };
  await Promise.all(Array.from({ length: availableParallelism() }, lane));
  return done;
}

function inThread(task: SeedTask): Promise<SeedResult> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./seed-thread.js', import.meta.url), { workerData: task });
    worker.once('message', resolve);
    worker.once('error', reject);
    worker.once('exit', (code) => reject(new Error(`the thread of seed ${task.seed} ended with code ${code}`)));
  });
}
