import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { projectRoot } from './broker.js';

type FreePort = typeof import('../../infra/free-port.mjs');

/** A port of the loopback address that nobody listens on. */
export async function freePort(): Promise<number> {
  const file = join(projectRoot(), 'infra', 'free-port.mjs');
  const found = (await import(pathToFileURL(file).href)) as FreePort;
  return found.freePort();
}
