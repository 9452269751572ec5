import { resolve } from 'node:path';
import { parseWeek } from '@tallybay/synthetic-fleet';
import { Command, InvalidArgumentError } from 'commander';
import { positiveNumber, wholeNumber } from '../service/service-options.js';

export interface DemoOptions {
  once: boolean;
  /** Absolute. */
  data: string;
  apiPort: number | undefined;
  ingestPort: number | undefined;
  seed: number | undefined;
  vehicles: number | undefined;
  weeks: number | undefined;
  /** First ISO week; undefined = as many weeks back as end with the last whole one. */
  start: string | undefined;
  scale: number | undefined;
}

/** Reads the demo's own options. @throws CommanderError for unknown ones and for --help */
export function readDemoOptions(args: readonly string[], cwd: string): DemoOptions {
  const command = new Command('demo')
    .description('The whole path on an invented fleet: generate, receive, decode, rank.')
    .option('--once', 'stop at the end instead of serving on', false)
    .option('--data <folder>', 'where the fleet and the data go', 'data/demo')
    .option('--api-port <n>', 'port to ask at; 8080 if free', wholeNumber(1))
    .option('--ingest-port <n>', 'port to receive at; 8081 if free', wholeNumber(1))
    .option('--seed <n>', 'another fleet of the same kind', wholeNumber(0))
    .option('--vehicles <n>', 'its size', wholeNumber(1))
    .option('--weeks <n>', 'its length', wholeNumber(1))
    .option('--start <week>', 'its first ISO week; so that it ends with last week if not given', isoWeek)
    .option('--scale <x>', 'more or less driving', positiveNumber)
    .exitOverride()
    .parse([...args], { from: 'user' });
  const options = command.opts<DemoOptions>();
  return { ...options, data: resolve(cwd, options.data) };
}

function isoWeek(text: string): string {
  try {
    parseWeek(text);
  } catch (error) {
    if (error instanceof RangeError) throw new InvalidArgumentError(`${error.message}.`);
    throw error;
  }
  return text;
}
