import { PRESETS, type ResolvedOptions, resolveOptions } from '@tallybay/synthetic-fleet';
import { codesOfSeed } from './codes/seed-codes.js';
import { simulateFleet } from './fleet/simulate.js';
import type { SeedResult } from './measures/vehicle-week.js';
import { factsFromMemory, runSeed } from './run-seed.js';
import { runThroughLake } from './through-lake.js';

export interface SeedTask {
  seed: number;
  vehicles: number;
  weeks: number;
  preset: keyof typeof PRESETS;
  /** `physics`: each recorder's channels once a second into the accumulator; `logs`: bytes, decode, lake, SQL. */
  path: 'physics' | 'logs';
}

/** @throws RangeError for a fleet that cannot be generated */
export const optionsOf = ({ seed, vehicles, weeks, preset, path }: SeedTask): ResolvedOptions =>
  // Nobody reads the files that the physics path passes over, so they are kept short.
  resolveOptions({ seed, vehicles, weeks, ...(path === 'physics' ? { rateHz: 1 } : {}) }, PRESETS[preset]);

/** One fleet: lived, decoded, ranked week by week, held against its truth. */
export async function runSeedTask(task: SeedTask): Promise<SeedResult> {
  const options = optionsOf(task);
  if (task.path === 'logs') return runThroughLake(options);
  const fleet = simulateFleet(options);
  const truths = fleet.map(({ truth }) => truth);
  return { ...(await runSeed(options, truths, factsFromMemory(fleet))), codes: codesOfSeed(task.seed, fleet) };
}
