// `npm run -s fuzz -- [--inputs 1000000] [--seed 1]`: random inputs to every decoder; exit 1 on a throw, a NaN or a hang.
import { parseArgs } from 'node:util';
import { fuzz } from './fuzz.js';

const { values } = parseArgs({ options: { inputs: { type: 'string' }, seed: { type: 'string' } } });
const inputs = Number(values.inputs ?? 1_000_000);
const seed = Number(values.seed ?? 1);
if (!Number.isSafeInteger(inputs) || inputs < 1 || !Number.isSafeInteger(seed)) {
  process.stderr.write(`inputs ${values.inputs} and seed ${values.seed} must be whole numbers, inputs at least 1\n`);
  process.exit(64);
}
const started = performance.now();
const { counts, failures } = fuzz(inputs, seed);
for (const { target, inputs: given, problems } of counts) {
  process.stdout.write(
    `${target.padEnd(18)} ${String(given).padStart(8)} inputs ${String(problems).padStart(8)} typed problems\n`,
  );
}
for (const { target, seed: own, what } of failures) process.stdout.write(`FAILED ${target}, seed ${own}: ${what}\n`);
const total = counts.reduce((sum, count) => sum + count.inputs, 0);
const seconds = ((performance.now() - started) / 1000).toFixed(1);
process.stdout.write(`${total} inputs, seed ${seed}, ${failures.length} failures, ${seconds} s\n`);
process.exitCode = failures.length === 0 ? 0 : 1;
