import { type ChildProcess, spawn } from 'node:child_process';
import { closeSync, openSync, readFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { TallybayError } from '@tallybay/contracts';

const READY_TIMEOUT_MS = 60_000;
const STOP_TIMEOUT_MS = 15_000;
const LOG_TAIL_LINES = 15;

export interface ServiceStart {
  /** Folder under apps/. */
  app: 'ingest' | 'api';
  url: string;
  env: Record<string, string>;
  /** File that takes what the service prints. */
  logFile: string;
  signal: AbortSignal;
}

/** One of the project's services as a process of its own. */
export class ChildService {
  /** Resolves when the process has ended, for whatever reason. */
  readonly ended: Promise<void>;

  private constructor(
    readonly start: ServiceStart,
    private readonly child: ChildProcess,
  ) {
    this.ended = new Promise((resolve) => child.once('exit', () => resolve()));
  }

  /** Resolves when the service is ready. @throws TallybayError `service_unreachable` with the end of its log */
  static async run(start: ServiceStart): Promise<ChildService> {
    const main = fileURLToPath(new URL(`../../../${start.app}/dist/main.js`, import.meta.url));
    const log = openSync(start.logFile, 'a');
    // A group of its own: Ctrl-C reaches it through `stop`, after what it is doing has been waited for.
    const child = spawn(process.execPath, [main], { env: start.env, stdio: ['ignore', log, log], detached: true });
    closeSync(log);
    const service = new ChildService(start, child);
    const endWithUs = () => child.kill('SIGTERM');
    process.once('exit', endWithUs);
    child.once('exit', () => process.off('exit', endWithUs));
    try {
      await service.untilReady();
    } catch (error) {
      await service.stop();
      throw error;
    }
    return service;
  }

  get hasEnded(): boolean {
    return this.child.exitCode !== null || this.child.signalCode !== null;
  }

  async stop(): Promise<void> {
    if (this.hasEnded) return;
    this.child.kill('SIGTERM');
    const late = setTimeout(() => this.child.kill('SIGKILL'), STOP_TIMEOUT_MS);
    await this.ended;
    clearTimeout(late);
  }

  /** Why the service is no longer there, for a person. */
  endProblem(): TallybayError {
    const { app, logFile } = this.start;
    const tail = readFileSync(logFile, 'utf8').trimEnd().split('\n').slice(-LOG_TAIL_LINES).join('\n');
    const end = this.child.signalCode ?? `code ${this.child.exitCode}`;
    return new TallybayError('service_unreachable', `apps/${app} ended with ${end}. Its last lines:\n${tail}`, {
      advice: `The whole log is ${logFile}.`,
    });
  }

  private async untilReady(): Promise<void> {
    const { app, url, signal } = this.start;
    const giveUpAt = Date.now() + READY_TIMEOUT_MS;
    while (!(await isReady(url))) {
      if (this.hasEnded) throw this.endProblem();
      if (Date.now() > giveUpAt)
        throw new TallybayError('service_unreachable', `apps/${app} is not ready after ${READY_TIMEOUT_MS / 1000} s`, {
          advice: `Its log is ${this.start.logFile}.`,
        });
      await wait(100, undefined, { signal });
    }
  }
}

const isReady = (url: string): Promise<boolean> =>
  fetch(new URL('/health/ready', url)).then(
    (response) => response.ok,
    () => false,
  );

/** `preferred` if nobody listens there, else any free port of the loopback address. */
export async function freePort(preferred: number): Promise<number> {
  return (await tryListen(preferred)) ?? (await tryListen(0)) ?? preferred;
}

function tryListen(port: number): Promise<number | null> {
  return new Promise((resolve) => {
    const server = createServer();
    server.once('error', () => resolve(null));
    server.listen(port, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(address && typeof address === 'object' ? address.port : null));
    });
  });
}
