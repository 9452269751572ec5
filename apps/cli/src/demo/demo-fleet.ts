import { readFile, rename, rm } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import {
  demoFleet,
  type FleetOptions,
  type LogEntry,
  type Manifest,
  resolveOptions,
  type SnapshotEntry,
  writeFleet,
} from '@tallybay/synthetic-fleet';
import { z } from 'zod';
import { bytesText, plural } from '../output/numbers.js';
import { firstWeek } from './demo-dates.js';

export interface DemoFleet {
  directory: string;
  weeks: string[];
  logs: LogEntry[];
  snapshots: SnapshotEntry[];
  /** Written just now: what an earlier demo made of another fleet does not belong to it. */
  isNew: boolean;
}

/** How often the generator is heard of. */
const FILES_A_LINE = 250;
const truthSchema = z.object({ options: z.record(z.string(), z.unknown()), weeks: z.array(z.string()).min(1) });

/**
 * The fleet of the demo in `directory`; generated where it is not there yet or is another one. Without a start it ends with
 * last week, and one that was made in an earlier week is kept: what a person did with it since is worth more than new dates.
 * `say` gets progress.
 * @throws TallybayError `week_invalid` when the weeks asked for are not over
 */
export async function provideFleet(
  directory: string,
  options: FleetOptions & { nowMs: number },
  say: (line: string) => void,
): Promise<DemoFleet> {
  const { nowMs, start, ...others } = options;
  const weeks = others.weeks ?? demoFleet.weeks;
  const newest = firstWeek(weeks, nowMs);
  if (start !== undefined && start > newest)
    throw new TallybayError(
      'week_invalid',
      `--start ${start} with ${plural(weeks, 'week')} goes beyond last week; the latest start is ${newest}`,
    );
  const wanted = resolveOptions({ ...others, start: start ?? newest }, demoFleet);
  const found = await readFleetFolder(directory);
  const compared = found && start === undefined ? { ...wanted, start: found.options.start } : wanted;
  if (found && JSON.stringify(found.options) === JSON.stringify(compared)) {
    if (compared.start !== wanted.start)
      say(`  made in an earlier week and kept; delete ${dirname(directory)} for one that ends with last week`);
    return found.fleet;
  }
  await generateInto(directory, wanted, say);
  const made = await readFleetFolder(directory);
  if (!made) throw new Error(`the fleet written to ${directory} cannot be read back`);
  return { ...made.fleet, isNew: true };
}

async function readFleetFolder(directory: string): Promise<{
  fleet: DemoFleet;
  options: Record<string, unknown>;
} | null> {
  try {
    const { options, weeks } = truthSchema.parse(await readJson(join(directory, 'truth.json')));
    const { files } = (await readJson(join(directory, 'manifest.json'))) as Manifest;
    const logs = files.filter((file) => file.kind === 'log');
    const snapshots = files.filter((file) => file.kind === 'snapshot');
    return { options, fleet: { directory, weeks, logs, snapshots, isNew: false } };
  } catch {
    // Not there, or left over from a generator of another version: it is written anew.
    return null;
  }
}

/** Written beside, then renamed: a demo that was stopped half-way starts over. */
async function generateInto(directory: string, options: FleetOptions, say: (line: string) => void): Promise<void> {
  const half = `${directory}.half`;
  await rm(half, { recursive: true, force: true });
  let said = 0;
  await writeFleet(options, half, ({ files, bytes }) => {
    if (files < said + FILES_A_LINE) return;
    said = files;
    say(`  ${plural(files, 'file')}, ${bytesText(bytes)} so far`);
  });
  await rm(directory, { recursive: true, force: true });
  await rename(half, directory);
}

const readJson = async (path: string): Promise<unknown> => JSON.parse(await readFile(path, 'utf8'));
