import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, mkdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Upload } from '@tallybay/contracts';
import { openRegistry } from '@tallybay/registry';
import { freePort } from '../faults/free-port.js';
import { type ProcessFigures, processFigures } from './process-figures.js';

/** This file runs from its source in tests and compiled in benches, so the project's root is looked for. */
function projectRoot(): string {
  let directory = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(directory, 'apps', 'ingest', 'package.json'))) directory = dirname(directory);
  return directory;
}

const MAIN = join(projectRoot(), 'apps', 'ingest', 'dist', 'main.js');

/** The ingest service on embedded defaults, as a user runs it: a process of its own with its own home folder. */
export class IngestService {
  private constructor(
    readonly url: string,
    readonly home: string,
    private readonly child: ChildProcess,
    private readonly output: string[],
  ) {}

  /** @param vehicles ids to register before the start */
  static async start(
    home: string,
    vehicles: string[],
    environment: Record<string, string> = {},
  ): Promise<IngestService> {
    mkdirSync(home, { recursive: true });
    const registry = await openRegistry({ kind: 'sqlite', file: join(home, 'registry.sqlite') });
    await registry.importFleet({
      name: 'bench',
      depots: [{ id: 'northgate', name: 'Northgate', timeZone: 'America/Denver' }],
      vehicles: vehicles.map((id) => ({ id, vehicleClass: 'service_pickup', depot: 'northgate' })),
      assignments: [],
      profiles: [],
    });
    await registry.close();
    const port = await freePort();
    const child = launch(home, { TALLYBAY_INGEST_PORT: String(port), ...environment });
    const output: string[] = [];
    child.stdout!.on('data', (text) => output.push(String(text)));
    child.stderr!.on('data', (text) => output.push(String(text)));
    const service = new IngestService(`http://127.0.0.1:${port}`, home, child, output);
    await service.untilReady();
    return service;
  }

  /** The service anew at the same address and home, once this one has ended. */
  async again(environment: Record<string, string> = {}): Promise<IngestService> {
    const child = launch(this.home, { TALLYBAY_INGEST_PORT: new URL(this.url).port, ...environment });
    const output: string[] = [];
    child.stdout!.on('data', (text) => output.push(String(text)));
    child.stderr!.on('data', (text) => output.push(String(text)));
    const service = new IngestService(this.url, this.home, child, output);
    await service.untilReady();
    return service;
  }

  /** Starts where the start must fail. */
  static async startExpectingFailure(
    home: string,
    environment: Record<string, string> = {},
  ): Promise<{ exitCode: number | null; output: string }> {
    const child = launch(home, { TALLYBAY_INGEST_PORT: '0', ...environment });
    const output: string[] = [];
    child.stdout!.on('data', (text) => output.push(String(text)));
    child.stderr!.on('data', (text) => output.push(String(text)));
    const exitCode = await new Promise<number | null>((resolve) => child.once('exit', resolve));
    return { exitCode, output: output.join('') };
  }

  get lake(): string {
    return join(this.home, 'lake');
  }

  /** What the service has logged so far. */
  get log(): string {
    return this.output.join('');
  }

  figures(): ProcessFigures | null {
    return processFigures(this.child.pid!);
  }

  async get<T>(path: string): Promise<T> {
    const response = await fetch(this.url + path);
    return (await response.json()) as T;
  }

  /** Waits until so many uploads are stored and every offset is committed. @throws when one failed or the service ended */
  async untilStored(count: number): Promise<void> {
    for (;;) {
      const state = await this.get<{ uploads: Record<string, number>; lag: number }>('/v1/pipeline');
      if ((state.uploads.stored ?? 0) >= count && state.lag === 0) return;
      if ((state.uploads.failed ?? 0) > 0) throw new Error(`an upload failed: ${this.output.join('')}`);
      if (this.child.exitCode !== null) throw new Error(`the service ended: ${this.output.join('')}`);
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
  }

  /** Waits for one upload to be stored or failed. */
  async untilDone(id: string): Promise<Upload> {
    for (;;) {
      const upload = await this.get<Upload>(`/v1/uploads/${id}`);
      if (upload.state === 'stored' || upload.state === 'failed') return upload;
      if (this.child.exitCode !== null) throw new Error(`the service ended: ${this.output.join('')}`);
      await new Promise((resolve) => setTimeout(resolve, 20));
    }
  }

  /** Ends the process as a power cut would. */
  async kill(): Promise<void> {
    const ended = new Promise((resolve) => this.child.once('exit', resolve));
    this.child.kill('SIGKILL');
    await ended;
  }

  async stop(): Promise<void> {
    const ended = new Promise((resolve) => this.child.once('exit', resolve));
    this.child.kill('SIGTERM');
    await ended;
  }

  private async untilReady(): Promise<void> {
    for (let attempt = 0; attempt < 400; attempt++) {
      if (this.child.exitCode !== null) throw new Error(`the service did not start: ${this.output.join('')}`);
      const response = await fetch(`${this.url}/health/ready`).catch(() => null);
      if (response?.ok) return;
      await new Promise((resolve) => setTimeout(resolve, 50));
    }
    throw new Error(`the service is not ready: ${this.output.join('')}`);
  }
}

function launch(home: string, environment: Record<string, string>): ChildProcess {
  // As `npm run start:ingest` does.
  return spawn(process.execPath, ['--max-semi-space-size=4', MAIN], {
    env: {
      ...process.env,
      TALLYBAY_HOME: home,
      TALLYBAY_LOG_LEVEL: 'warn',
      // Set before Node starts: the pool's size is fixed at its first use.
      UV_THREADPOOL_SIZE: '8',
      MALLOC_ARENA_MAX: '2',
      ...environment,
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
}
