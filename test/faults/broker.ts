import { existsSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

type Infra = typeof import('../../infra/kafka/local-broker.mjs');

/** This file runs from its source in tests and compiled in the full run, so the project's root is looked for. */
export function projectRoot(): string {
  let directory = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(directory, 'apps', 'ingest', 'package.json'))) directory = dirname(directory);
  return directory;
}

/** A broker of the test's own, as a local process: these tests end it, cut it off and start it again. */
export async function startBroker(options?: Parameters<Infra['startLocalBroker']>[0]) {
  const file = join(projectRoot(), 'infra', 'kafka', 'local-broker.mjs');
  const { startLocalBroker } = (await import(pathToFileURL(file).href)) as Infra;
  return startLocalBroker(options);
}
