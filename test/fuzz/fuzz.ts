import { type Random, seededRandom } from './random.js';
import { FUZZ_TARGETS, type FuzzTarget } from './targets.js';

/** A single input may not take longer; a hang would, whatever the machine. */
export const MAX_INPUT_MS = 2_000;

export interface FuzzCount {
  target: string;
  inputs: number;
  problems: number;
}

export interface FuzzFailure {
  target: string;
  seed: number;
  what: string;
}

/**
 * Gives every decoder its share of `inputs`. Each input has a seed of its own, so a failure can be repeated alone.
 * Stops at the first 20 failures.
 */
export function fuzz(
  inputs: number,
  seed: number,
  targets: readonly FuzzTarget[] = FUZZ_TARGETS,
): { counts: FuzzCount[]; failures: FuzzFailure[] } {
  const counts = targets.map(({ name }) => ({ target: name, inputs: 0, problems: 0 }));
  const failures: FuzzFailure[] = [];
  for (let index = 0; index < inputs && failures.length < 20; index++) {
    const at = index % targets.length;
    const [target, count] = [targets[at], counts[at]];
    if (!target || !count) break;
    count.inputs++;
    const inputSeed = seed + index;
    const outcome = tryInput(target, seededRandom(inputSeed));
    if (outcome.failure !== null) failures.push({ target: target.name, seed: inputSeed, what: outcome.failure });
    if (outcome.problem) count.problems++;
  }
  return { counts, failures };
}

function tryInput(target: FuzzTarget, random: Random): { failure: string | null; problem: boolean } {
  const started = performance.now();
  try {
    const result = target.run(random);
    const took = performance.now() - started;
    if (took > MAX_INPUT_MS) return { failure: `took ${Math.round(took)} ms`, problem: false };
    const nan = target.nanAllowed ? null : nanPath(result, 'result');
    return { failure: nan === null ? null : `${nan} is NaN`, problem: saysProblem(result) };
  } catch (error) {
    return { failure: `threw ${error instanceof Error ? error.stack : String(error)}`, problem: false };
  }
}

function nanPath(value: unknown, path: string): string | null {
  if (typeof value === 'number') return Number.isNaN(value) ? path : null;
  if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value)) return null;
  for (const [key, item] of Object.entries(value)) {
    const found = nanPath(item, `${path}.${key}`);
    if (found !== null) return found;
  }
  return null;
}

function saysProblem(result: unknown): boolean {
  if (typeof result !== 'object' || result === null) return false;
  if ('ok' in result) return result.ok === false;
  return 'problems' in result && Array.isArray(result.problems) && result.problems.length > 0;
}
