import { Command, InvalidArgumentError } from 'commander';
import { damages } from './damage-scenario.js';
import { vehicleMoves } from './move-scenario.js';
import { isClean, type Report, reportLines, vehicleLines } from './report.js';
import {
  brokerKills,
  decodeKills,
  duplicateDeliveries,
  networkCut,
  rebalances,
  receiverKills,
  type ScenarioOptions,
} from './scenarios.js';

const whole = (text: string): number => {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 1) throw new InvalidArgumentError('must be a whole number of 1 or more');
  return value;
};

interface Options {
  kills: number;
  seed: number;
  only?: string;
}

/** Scenario -> how often its fault happens for `--kills 50`, the numbers. */
type Run = (options: Omit<ScenarioOptions, 'times'>, kills: number) => Promise<Report>;
const share = (kills: number, of: number) => Math.max(1, Math.round((kills * of) / 50));

const SCENARIOS: Record<string, Run> = {
  'decode-kafka': (options, kills) => decodeKills({ ...options, carrier: 'kafka', times: kills }),
  'decode-spool': (options, kills) => decodeKills({ ...options, carrier: 'spool', times: kills }),
  'receiver-kafka': (options, kills) => receiverKills({ ...options, carrier: 'kafka', times: share(kills, 20) }),
  'receiver-spool': (options, kills) => receiverKills({ ...options, carrier: 'spool', times: share(kills, 20) }),
  broker: (options, kills) => brokerKills({ ...options, carrier: 'kafka', times: share(kills, 10) }),
  rebalances: (options, kills) => rebalances({ ...options, carrier: 'kafka', times: share(kills, 20) }),
  duplicates: (options) => duplicateDeliveries({ ...options, carrier: 'kafka', times: 60 }),
  network: (options) => networkCut({ ...options, carrier: 'kafka', times: 1, seconds: 30 }),
  moves: (options, kills) => vehicleMoves({ ...options, carrier: 'kafka', times: kills }),
  damage: (options, kills) => damages({ ...options, carrier: 'kafka', times: share(kills, 5) }),
};

const program = new Command('faults')
  .description('Kills, cuts and repeats under load; afterwards every acknowledged row must be in the lake exactly once')
  .option(
    '--kills <n>',
    'kills of the decode worker; receiver, broker and hand-overs in proportion (50: 20, 10, 20)',
    whole,
    50,
  )
  .option('--seed <n>', 'seed of the load', whole, 1)
  .option('--only <names>', `comma-separated: ${Object.keys(SCENARIOS).join(', ')}`);

const { kills, seed, only } = program.parse().opts<Options>();
const chosen = Object.entries(SCENARIOS).filter(([name]) => !only || only.split(',').includes(name));
const tell = (line: string) => process.stderr.write(`  ${line}\n`);
const reports: Report[] = [];
for (const [name, run] of chosen) {
  tell(name);
  const report = await run({ carrier: 'kafka', seed, tell }, kills);
  reports.push(report);
  for (const line of [...reportLines(report), ...vehicleLines(report)]) process.stdout.write(`${line}\n`);
}
const sum = (pick: (report: Report) => number) => reports.reduce((total, report) => total + pick(report), 0);
process.stdout.write(
  `in all: rows expected ${sum((r) => r.rowsExpected)}, found ${sum((r) => r.rowsFound)}, duplicated ${sum((r) => r.rowsDuplicated)}, lost ${sum((r) => r.rowsLost)}\n`,
);
if (chosen.length === 0 || !reports.every(isClean)) process.exitCode = 1;
