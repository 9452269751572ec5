import { availableParallelism } from 'node:os';
import { setTimeout as sleep } from 'node:timers/promises';
import { startBroker } from '../../faults/broker.js';
import { Load } from '../../faults/load.js';
import { Path } from '../../faults/path.js';
import { compareLake, isClean } from '../../faults/report.js';
import { kafkaEnvironment } from '../../faults/scenarios.js';
import { processFigures } from '../../service/process-figures.js';

export interface WorkersBenchOptions {
  logs: number;
  seed: number;
  repeats: number;
}

export interface WorkersTurn {
  workers: number;
  threads: number;
  /** Between a tenth and nine tenths of the uploads being stored, so that starting up does not count. */
  rowsPerSecond: number;
  /** CPU seconds a second in that span: how many cores the workers and the broker kept busy. */
  workerCores: number | null;
  brokerCores: number | null;
}

export interface WorkersBenchResult {
  options: WorkersBenchOptions;
  cores: number;
  turns: WorkersTurn[];
}

/** Rows of the load's largest shape: several chunks a log. */
const SHAPE = 2;

/** A backlog on Kafka, worked off by one decode worker and by two, in turns. */
export async function runWorkersBench(
  options: WorkersBenchOptions,
  tell: (line: string) => void,
): Promise<WorkersBenchResult> {
  const turns: WorkersTurn[] = [];
  for (let repeat = 0; repeat < options.repeats; repeat++)
    for (const [workers, threads] of [
      [1, 1],
      [2, 1],
      [1, 2],
    ] as const) {
      tell(`turn ${repeat + 1} of ${options.repeats}: ${workers} workers of ${threads} threads`);
      turns.push(await oneTurn(options, workers, threads));
    }
  return { options, cores: availableParallelism(), turns };
}

async function oneTurn(options: WorkersBenchOptions, workers: number, threads: number): Promise<WorkersTurn> {
  const broker = await startBroker();
  const path = await Path.create(kafkaEnvironment(broker.brokers));
  try {
    const receiver = await path.add('receive');
    const load = new Load(() => [receiver.url], options.seed);
    const beganMs = Date.now();
    for (let n = 0; n < options.logs; n++) await load.sendOne(SHAPE);
    const extra = { TALLYBAY_DECODE_THREADS: String(threads) };
    await Promise.all(Array.from({ length: workers }, () => path.add('decode', extra)));
    const pids = path.processes.filter(({ role }) => role === 'decode').map(({ pid }) => pid);
    const at = async (share: number) => {
      while ((await path.stored()).length < share * options.logs) await sleep(50);
      return {
        atMs: performance.now(),
        stored: (await path.stored()).length,
        worker: cpu(pids),
        broker: cpu([broker.pid]),
      };
    };
    const from = await at(0.1);
    const to = await at(0.9);
    await path.settle();
    const facts = { name: 'workers bench', done: { turns: 1 }, reportedTooEarly: 0, beganMs };
    const report = await compareLake(path, load, facts);
    if (!isClean(report)) throw new Error(`a fast wrong answer is no answer: ${JSON.stringify(report)}`);
    const seconds = (to.atMs - from.atMs) / 1000;
    const cores = (before: number | null, after: number | null) =>
      before === null || after === null ? null : (after - before) / seconds;
    return {
      workers,
      threads,
      rowsPerSecond: ((to.stored - from.stored) * (report.rowsExpected / options.logs)) / seconds,
      workerCores: cores(from.worker, to.worker),
      brokerCores: cores(from.broker, to.broker),
    };
  } finally {
    await path.close();
    await broker.stop();
  }
}

/** CPU seconds of these processes so far. */
function cpu(pids: number[]): number | null {
  const figures = pids.map(processFigures);
  return figures.some((one) => one === null) ? null : figures.reduce((sum, one) => sum + one!.cpuSeconds, 0);
}

/** A table of medians, and what limits two workers. */
export function describeWorkers({ options, cores, turns }: WorkersBenchResult): string {
  const of = (workers: number, threads: number) => {
    const own = turns.filter((turn) => turn.workers === workers && turn.threads === threads);
    return {
      rate: median(own.map((turn) => turn.rowsPerSecond)),
      worker: median(own.map((turn) => turn.workerCores ?? Number.NaN)),
      broker: median(own.map((turn) => turn.brokerCores ?? Number.NaN)),
    };
  };
  const [one, two, threads] = [of(1, 1), of(2, 1), of(1, 2)];
  const line = (name: string, side: ReturnType<typeof of>) =>
    `${name.padEnd(28)} ${(side.rate / 1000).toFixed(0).padStart(6)} thousand rows/s  cores busy: workers ${side.worker.toFixed(2)}, broker ${side.broker.toFixed(2)}`;
  const busy = two.worker + two.broker;
  return [
    `${options.logs} logs on Kafka, ${cores} cores, medians of ${options.repeats}`,
    line('one worker, one thread', one),
    line('two workers, one thread each', two),
    line('one worker, two threads', threads),
    `two workers / one worker ${(two.rate / one.rate).toFixed(2)}; two threads / one thread ${(threads.rate / one.rate).toFixed(2)}`,
    busy > 0.85 * cores
      ? `limit: the cores (${busy.toFixed(2)} of ${cores} busy with two workers)`
      : `limit: not the cores (${busy.toFixed(2)} of ${cores} busy with two workers): syncing files and waiting for commits`,
    '',
  ].join('\n');
}

function median(values: number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
