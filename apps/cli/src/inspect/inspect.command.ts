import { readFile } from 'node:fs/promises';
import { basename, resolve } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import { DEFAULT_HOLD_SECONDS, type PlanHints } from '@tallybay/decode';
import type { Command } from 'commander';
import { positiveNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { logParameters } from '../upload/log-options.js';
import { inspectLog } from './inspect-log.js';
import { openLog } from './log-source.js';
import { reportLines } from './report-lines.js';
import { parseStages } from './stages.js';

interface InspectOptions {
  json?: boolean;
  stage?: string[];
  holdSeconds: number;
  fileName?: string;
  timeZone?: string;
  recordedAt?: string;
  dbc?: string;
}

export function registerInspect(program: Command, session: Session): void {
  program
    .command('inspect')
    .summary('say what a log holds')
    .description('Say what a log holds: rows, time, signals, seconds at or above a stage, problems. Nothing is sent.')
    .argument('<file>', 'CSV log or CAN capture, plain or .gz; - reads standard input')
    .option('--json', 'print one JSON object')
    .option(
      '--stage <signal=value,…>',
      'count seconds at or above: coolant_temp_c=95,100 or coolant_temp_c=203F',
      collect,
    )
    .option('--hold-seconds <n>', 'a step longer than this is a gap', positiveNumber, DEFAULT_HOLD_SECONDS)
    .option('--file-name <name>', 'name that the recorder gave, if the file has another one now')
    .option('--time-zone <zone>', "zone of the recorder's clock, such as Europe/Berlin")
    .option('--recorded-at <time>', 'instant of the first row, with offset: 2026-10-05T07:12:00+02:00')
    .option('--dbc <file>', 'DBC file that describes further signals of a CAN capture')
    .action((file: string, options: InspectOptions) => inspect(file, options, session));
}

/** @throws TallybayError `file_unreadable` */
async function readText(file: string): Promise<string> {
  try {
    return await readFile(file, 'utf8');
  } catch (cause) {
    throw new TallybayError('file_unreadable', `${file}: ${(cause as Error).message}`, { place: { file }, cause });
  }
}

const collect = (value: string, before: string[] = []): string[] => [...before, value];

async function inspect(file: string, options: InspectOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const stages = parseStages(options.stage ?? []);
  const { timeZone, recordedAt } = logParameters({ timeZone: options.timeZone, recordedAt: options.recordedAt });
  const name = options.fileName ?? (file === '-' ? undefined : basename(file).replace(/\.gz$/i, ''));
  const hints: PlanHints = {
    ...(name && { fileName: name }),
    ...(timeZone && { timeZone }),
    ...(recordedAt && { recordedAtMs: Date.parse(recordedAt) }),
    ...(options.dbc && { profile: { dbc: await readText(resolve(terminal.cwd, options.dbc)) } }),
  };
  const source = await openLog(file === '-' ? file : resolve(terminal.cwd, file), terminal.stdin);
  const shown = file === '-' ? (options.fileName ?? 'standard input') : file;
  const report = await inspectLog(source, {
    name: shown,
    hints,
    stages,
    holdSeconds: options.holdSeconds,
    nowMs: Date.now(),
  });
  if (options.json) terminal.out(JSON.stringify(report, null, 2));
  else for (const line of reportLines(report)) terminal.out(line);
}
