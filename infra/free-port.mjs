import { randomInt } from 'node:crypto';
import { createServer } from 'node:net';

/**
 * Below what systems hand out to outgoing connections (Linux: from 32768, RFC 6335: from 49152): a port from there may be gone
 * before the program that it was chosen for has it.
 */
const LOWEST = 20_000;
const BEYOND = 32_000;
const TRIES = 100;

/** A port of the loopback address that nobody listens on. @throws Error when none was found */
export async function freePort() {
  for (let left = TRIES; left > 0; left--) {
    const port = randomInt(LOWEST, BEYOND);
    if (await isFree(port)) return port;
  }
  throw new Error(`No free port was found between ${LOWEST} and ${BEYOND} in ${TRIES} tries`);
}

function isFree(port) {
  return new Promise((resolve) => {
    const server = createServer();
    server.once('error', () => resolve(false));
    server.listen(port, '127.0.0.1', () => server.close(() => resolve(true)));
  });
}
