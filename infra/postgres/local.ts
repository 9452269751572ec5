/**
 * A throw-away PostgreSQL as a plain process, from the distribution's packages: no container, no root, no fixed port.
 *
 *   const server = await startPostgres();   // initdb + start, about 2 s
 *   const url = await server.createDatabase();
 *   await server.stop();                    // and the data directory is gone
 */
import { type ChildProcess, execFileSync, type SpawnOptions, spawn } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { freePort } from '../free-port.mjs';

const PACKAGES = '/usr/lib/postgresql';
const START_TIMEOUT_MS = 60_000;
const SUPERUSER = 'tallybay';

export interface LocalPostgres {
  /** A new, empty database; its connection URL. */
  createDatabase(): Promise<string>;
  stop(): Promise<void>;
}

/** The newest installed server's programs, or null when the package `postgresql` is not installed. */
export function findPostgres(): string | null {
  if (!existsSync(PACKAGES)) return null;
  const versions = readdirSync(PACKAGES).filter((version) => existsSync(join(PACKAGES, version, 'bin', 'initdb')));
  const newest = versions.sort((left, right) => Number(right) - Number(left))[0];
  return newest === undefined ? null : join(PACKAGES, newest, 'bin');
}

/** @throws Error that names the package when PostgreSQL is not installed */
export async function startPostgres(): Promise<LocalPostgres> {
  const programs = findPostgres();
  if (programs === null) throw new Error(`No PostgreSQL under ${PACKAGES}: install the Debian package "postgresql"`);
  const identity = unprivileged();
  const directory = mkdtempSync(join(tmpdir(), 'tallybay-postgres-'));
  if (identity.uid !== undefined) chownSync(directory, identity.uid, identity.gid ?? identity.uid);
  const data = join(directory, 'data');
  try {
    const initdb = ['-D', data, '-U', SUPERUSER, '--auth=trust', '--encoding=UTF8', '--no-sync'];
    execFileSync(join(programs, 'initdb'), initdb, { ...identity, cwd: directory, stdio: 'pipe' });
    const port = await freePort();
    const server = await launch(programs, data, port, { ...identity, cwd: directory });
    return control(programs, server, port, directory);
  } catch (error) {
    rmSync(directory, { recursive: true, force: true });
    throw error;
  }
}

function control(programs: string, server: ChildProcess, port: number, directory: string): LocalPostgres {
  let databases = 0;
  return {
    async createDatabase() {
      const name = `tallybay_${++databases}`;
      execFileSync(join(programs, 'createdb'), ['-h', '127.0.0.1', '-p', String(port), '-U', SUPERUSER, name]);
      return `postgres://${SUPERUSER}@127.0.0.1:${port}/${name}`;
    },
    async stop() {
      if (server.exitCode === null && server.signalCode === null) {
        const ended = new Promise((resolve) => server.once('exit', resolve));
        // PostgreSQL's "fast shutdown": open sessions are ended, the data directory is closed in order.
        server.kill('SIGINT');
        await ended;
      }
      rmSync(directory, { recursive: true, force: true });
    },
  };
}

/** Syncing is off: the data is thrown away anyway. */
async function launch(programs: string, data: string, port: number, options: SpawnOptions): Promise<ChildProcess> {
  const settings = {
    listen_addresses: '127.0.0.1',
    port: String(port),
    unix_socket_directories: data,
    fsync: 'off',
    shared_buffers: '32MB',
  };
  const arguments_ = ['-D', data, ...Object.entries(settings).flatMap(([name, value]) => ['-c', `${name}=${value}`])];
  const server = spawn(join(programs, 'postgres'), arguments_, { ...options, stdio: ['ignore', 'ignore', 'pipe'] });
  await new Promise<void>((resolve, reject) => {
    let log = '';
    const fail = (why: string) => {
      clearTimeout(timer);
      server.kill('SIGQUIT');
      reject(new Error(`PostgreSQL ${why}:\n${log}`));
    };
    const timer = setTimeout(() => fail('did not get ready in time'), START_TIMEOUT_MS);
    const ended = (code: number | null) => fail(`ended with code ${code}`);
    server.once('error', (error) => fail(`could not be started (${error.message})`));
    server.once('exit', ended);
    server.stderr?.on('data', (chunk: Buffer) => {
      if (log.length < 20_000) log += chunk.toString();
      if (!log.includes('ready to accept connections')) return;
      clearTimeout(timer);
      server.off('exit', ended);
      resolve();
    });
  });
  return server;
}

/** PostgreSQL refuses to run as root; there the package's own user, else nobody, runs it. */
function unprivileged(): { uid?: number; gid?: number } {
  if (process.getuid?.() !== 0) return {};
  for (const user of ['postgres', 'nobody']) {
    try {
      const id = (flag: '-u' | '-g') =>
        Number(execFileSync('id', [flag, user], { stdio: ['ignore', 'pipe', 'ignore'] }));
      return { uid: id('-u'), gid: id('-g') };
    } catch {
      // There is no such user: try the next.
    }
  }
  throw new Error('PostgreSQL cannot run as root, and there is no user postgres or nobody to run it as');
}
