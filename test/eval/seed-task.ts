import { PRESETS, type ResolvedOptions, resolveOptions } from '@tallybay/synthetic-fleet';
import { codesOfSeed } from './codes/seed-codes.js';
import { simulateFleet } from './fleet/simulate.js';
import { WORSE_RECORDERS, type WorseName } from './fleet/worse-recorders.js';
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
  /** What recorders leave out or read wrongly; on the physics path only. Default: nothing. */
  worse?: WorseName;
}

/** @throws RangeError for a fleet that cannot be generated, or recorders made worse on a path that reads their files */
export function optionsOf({ seed, vehicles, weeks, preset, path, worse = 'none' }: SeedTask): ResolvedOptions {
  if (path === 'logs' && worse !== 'none')
    throw new RangeError(`--worse ${worse} goes with --path physics: logs hold what their recorders write`);
  // Nobody reads the files that the physics path passes over, so they are kept short.
  return resolveOptions({ seed, vehicles, weeks, ...(path === 'physics' ? { rateHz: 1 } : {}) }, PRESETS[preset]);
}

/** One fleet: lived, decoded, ranked week by week, held against its truth. */
export async function runSeedTask(task: SeedTask): Promise<SeedResult> {
  const options = optionsOf(task);
  if (task.path === 'logs') return runThroughLake(options);
  const fleet = simulateFleet(options, WORSE_RECORDERS[task.worse ?? 'none']);
  const truths = fleet.map(({ truth }) => truth);
  return { ...(await runSeed(options, truths, factsFromMemory(fleet))), codes: codesOfSeed(task.seed, fleet) };
}
