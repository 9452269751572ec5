import { Command, InvalidArgumentError, Option } from 'commander';
import { type FleetOptions, PRESETS, resolveOptions } from './options.js';
import { writeFleet } from './write.js';

interface CliOptions {
  seed: string;
  out: string;
  preset: keyof typeof PRESETS;
  vehicles?: number;
  weeks?: number;
  start?: string;
  likeWeek?: string;
  rateHz?: number | 'mixed';
  scale?: number;
  maxDriveMinutes?: number;
  maxChannels?: number;
  idealSensors?: boolean;
}

const number = (text: string): number => {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw new InvalidArgumentError(`"${text}" is not a number.`);
  return value;
};
const rate = (text: string): number | 'mixed' => (text === 'mixed' ? text : number(text));

const program = new Command('fleet')
  .description('Writes a synthetic fleet with known truth: logs, snapshots, fleet.json, truth.json, manifest.json')
  .requiredOption('--out <dir>', 'folder to write to')
  .option('--seed <seed>', 'decides every byte', '1')
  .addOption(
    new Option('--preset <name>', 'what the other options start from').choices(Object.keys(PRESETS)).default('full'),
  )
  .option('--vehicles <n>', 'number of vehicles', number)
  .option('--weeks <n>', 'number of ISO weeks', number)
  .option('--start <week>', 'first ISO week, e.g. 2026-W36')
  .option('--like-week <week>', 'ISO week whose weather and duties the first week has; else its own')
  .option('--rate-hz <rate>', 'rows a second of every recorder: 10, 5, 2, 1, or mixed', rate)
  .option('--scale <factor>', 'drives a week, 1 is a working week', number)
  .option('--max-drive-minutes <n>', 'longest drive, 10 to 240', number)
  .option('--max-channels <n>', 'most channels in one log, 8 to 90', number)
  .option('--ideal-sensors', 'no sensor noise, fine steps');

async function run(): Promise<void> {
  const { out, preset, ...given } = program.parse().opts<CliOptions>();
  const options: FleetOptions = resolveOptions(given, PRESETS[preset]);
  let shown = 0;
  const done = await writeFleet(options, out, (progress) => {
    if (progress.bytes - shown < 50e6) return;
    shown = progress.bytes;
    process.stderr.write(`${progress.files} files, ${(progress.bytes / 1e6).toFixed(0)} MB, at ${progress.path}\n`);
  });
  process.stderr.write(`done: ${done.files} files, ${(done.bytes / 1e6).toFixed(1)} MB in ${out}\n`);
}

run().catch((error: unknown) => {
  process.stderr.write(`fleet: ${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = error instanceof RangeError ? 64 : 73;
});
