import { relative } from 'node:path';
import type { Command } from 'commander';
import { plural } from '../output/numbers.js';
import { ServiceClient } from '../service/client.js';
import { DEFAULT_RETRY } from '../service/retry.js';
import { addUrl, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { collectFiles, type FoundFile } from './collect.js';
import { Journal, stateDirectory } from './journal.js';
import { addLogOptions, type LogOptions, logParameters } from './log-options.js';
import { summaryLine, UploadScreen } from './upload-screen.js';
import { Uploader, type UploadItem } from './uploader.js';

interface UploadOptions extends LogOptions {
  url: string;
  parallel: number;
  retries: number;
  snapshots?: boolean;
}

export function registerUpload(program: Command, session: Session): void {
  const command = program
    .command('upload')
    .summary('send logs and snapshots')
    .description('Send logs (CSV, CAN captures, plain or .gz) and snapshots (JSON) to the service. Safe to repeat.')
    .argument('<path...>', 'files, folders, or patterns')
    .option('--snapshots', 'treat every file as a snapshot, whatever it looks like')
    .option('--parallel <n>', 'files under way at a time', wholeNumber(1), 2)
    .option('--retries <n>', 'further tries when the service does not answer', wholeNumber(0), DEFAULT_RETRY.retries);
  addUrl(addLogOptions(command)).action((paths: string[], options: UploadOptions) => upload(paths, options, session));
}

async function upload(paths: string[], options: UploadOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const parameters = logParameters(options);
  const files = await collectFiles(paths, terminal.cwd);
  const items = files.map((file): UploadItem => ({ file, label: labelOf(file, terminal.cwd), parameters }));
  const client = ServiceClient.of(options.url, terminal.signal);
  const uploader = new Uploader({
    client,
    journal: await Journal.open(stateDirectory(terminal.env), options.url),
    retry: { ...DEFAULT_RETRY, retries: options.retries },
    parallel: options.parallel,
    snapshotsOnly: options.snapshots ?? false,
    signal: terminal.signal,
    now: () => new Date(),
  });
  const screen = new UploadScreen(terminal, items);
  const results = await uploader.upload(items, screen).finally(() => {
    screen.stop();
    client.close();
  });
  terminal.out(summaryLine(results, items.length));
  const waiting = results.filter((result) => result.outcome === 'waits').length;
  if (waiting > 0)
    terminal.out('See what waits with `tallybay uploads --waiting`, let it go on with `tallybay release`.');
  const untried = results.filter((result) => result.untried).length;
  if (untried > 0)
    terminal.note(`The service does not answer: ${plural(untried, 'file')} not tried. Run it again later.`);
  if (terminal.signal.aborted) terminal.note('Stopped. Run the same command again to go on where it stopped.');
  for (const result of results) session.worsen(result.exitCode);
}

/** Short where the file is below the working folder, whole elsewhere. */
export function labelOf(file: FoundFile, cwd: string): string {
  const path = relative(cwd, file.path);
  return path.startsWith('..') ? file.path : path;
}
