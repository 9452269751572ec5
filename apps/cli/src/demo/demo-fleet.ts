import { readFile, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
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

/** The fleet of the demo in `directory`; generated where it is not there yet or is another one. `say` gets progress. */
export async function provideFleet(
  directory: string,
  options: FleetOptions,
  say: (line: string) => void,
): Promise<DemoFleet> {
  const wanted = resolveOptions(options, demoFleet);
  const found = await readFleetFolder(directory);
  if (found && JSON.stringify(found.options) === JSON.stringify(wanted)) return found.fleet;
  await generateInto(directory, wanted, say);
  const made = await readFleetFolder(directory);
  if (!made) throw new Error(`the fleet written to ${directory} cannot be read back`);
  return { ...made.fleet, isNew: true };
}

async function readFleetFolder(directory: string): Promise<{ fleet: DemoFleet; options: object } | null> {
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
