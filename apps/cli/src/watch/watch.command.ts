import { stat } from 'node:fs/promises';
import { resolve } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import type { Command } from 'commander';
import { ServiceClient } from '../service/client.js';
import { DEFAULT_RETRY } from '../service/retry.js';
import { addUrl, positiveNumber, wholeNumber } from '../service/service-options.js';
import type { Session } from '../session.js';
import { fileProblem } from '../upload/content.js';
import { Journal, stateDirectory } from '../upload/journal.js';
import { addLogOptions, type LogOptions, logParameters } from '../upload/log-options.js';
import { Uploader } from '../upload/uploader.js';
import { FolderWatch } from './folder-watch.js';

interface WatchOptions extends LogOptions {
  url: string;
  quietSeconds: number;
  everySeconds: number;
  parallel: number;
}

export function registerWatch(program: Command, session: Session): void {
  const command = program
    .command('watch')
    .summary('send what arrives in a folder')
    .description(
      'Watch a folder and send each file once it has kept still. Files are left where they are; stop with Ctrl-C.',
    )
    .argument('<folder>', 'folder that recorders or scripts copy into')
    .option('--quiet-seconds <n>', 'a file is complete when it has not changed for this long', positiveNumber, 10)
    .option('--every-seconds <n>', 'look through the whole folder at least this often', positiveNumber, 30)
    .option('--parallel <n>', 'files under way at a time', wholeNumber(1), 2);
  addUrl(addLogOptions(command)).action((folder: string, options: WatchOptions) => watch(folder, options, session));
}

async function watch(folder: string, options: WatchOptions, session: Session): Promise<void> {
  const { terminal } = session;
  const directory = resolve(terminal.cwd, folder);
  const facts = await stat(directory).catch((error) => {
    throw fileProblem(directory, error);
  });
  if (!facts.isDirectory())
    throw new TallybayError('file_unreadable', `${directory} is not a folder`, { advice: 'Name a folder.' });
  const client = ServiceClient.of(options.url, terminal.signal);
  const journal = await Journal.open(stateDirectory(terminal.env), options.url);
  const uploader = new Uploader({
    client,
    journal,
    retry: DEFAULT_RETRY,
    parallel: options.parallel,
    signal: terminal.signal,
    now: () => new Date(),
  });
  session.endsOnStop = true;
  terminal.out(`Watching ${directory}; sending to ${client.url.origin}. Stop with Ctrl-C.`);
  const folderWatch = new FolderWatch({
    directory,
    parameters: logParameters(options),
    quietMs: options.quietSeconds * 1000,
    rescanMs: options.everySeconds * 1000,
    journal,
    uploader,
    terminal,
  });
  await folderWatch.run().finally(() => client.close());
}
