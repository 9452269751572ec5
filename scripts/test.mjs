// `npm test`: every check of the project, in the order in which they tell most, summed up in the last line.
// `npm test -- lint unit` runs only these steps. Any Node from 20 on can start it; the steps run on the project's own.
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { bringNeeds } from './test-needs.mjs';
import { summaryLines, tallyCheck, tallyReport } from './test-tally.mjs';

const root = fileURLToPath(new URL('..', import.meta.url));
const reports = mkdtempSync(join(tmpdir(), 'tallybay-test-'));
const env = {
  ...process.env,
  PATH: [join(root, 'node_modules', '.bin'), process.env.PATH].join(delimiter),
  // DuckDB's queries run on libuv's pool; with the default of four they would hold up file access.
  UV_THREADPOOL_SIZE: '16',
};

const CHECKS = {
  build: ['tsc', '-b'],
  page: ['vite', 'build', 'apps/web', '--logLevel', 'warn'],
  lint: ['biome', 'check', '.'],
  typecheck: ['tsc', '-p', 'test/tsconfig.json'],
};
const TIERS = ['unit', 'long', 'integration', 'e2e'];
const SERVICE_TIERS = ['integration', 'e2e'];
const ALL = [...Object.keys(CHECKS), ...TIERS];

process.exit(main(process.argv.slice(2)));

function main(asked) {
  const unknown = asked.filter((name) => !ALL.includes(name));
  if (unknown.length > 0) return stop(`no such step: ${unknown.join(', ')}; there are ${ALL.join(', ')}`);
  const chosen = ALL.filter((name) => asked.length === 0 || asked.includes(name));
  if (chosen.some((name) => SERVICE_TIERS.includes(name)) && !bringNeeds()) return stop('a needed program is missing');
  if (!existsSync(join(root, 'node_modules', '.bin', 'vitest')) && run(['npm', 'ci']) !== 0)
    return stop('npm ci failed');
  const steps = chosen.map(runStep);
  rmSync(reports, { recursive: true, force: true });
  console.log('');
  for (const line of summaryLines(steps)) console.log(line);
  return steps.some((step) => step.failed > 0) ? 1 : 0;
}

function runStep(name) {
  console.log(`\n== ${name}`);
  const startedAt = Date.now();
  const tally = name in CHECKS ? tallyCheck(run(CHECKS[name])) : runTier(name);
  return { name, seconds: (Date.now() - startedAt) / 1000, ...tally };
}

function runTier(name) {
  const file = join(reports, `${name}.json`);
  const code = run([
    'vitest',
    'run',
    '--project',
    name,
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${file}`,
  ]);
  return tallyReport(existsSync(file) ? JSON.parse(readFileSync(file, 'utf8')) : null, code);
}

function run([command, ...args]) {
  const { status, error } = spawnSync(command, args, { cwd: root, env, stdio: 'inherit' });
  if (error) console.error(`${command}: ${error.message}`);
  return status ?? 1;
}

/** Nothing was checked: that is one failure, said in the form that readers of the last line expect. */
function stop(why) {
  rmSync(reports, { recursive: true, force: true });
  console.log(`${why}\n0 passed, 1 failed`);
  return 1;
}
