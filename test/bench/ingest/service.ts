import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { createServer } from 'node:net';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { openRegistry } from '@tallybay/registry';
import { type ProcessFigures, processFigures } from '../process-figures.js';

const MAIN = fileURLToPath(new URL('../../../../apps/ingest/dist/main.js', import.meta.url));

/** The ingest service on embedded defaults, as a user runs it: a process of its own with its own home folder. */
export class Service {
  private constructor(
    readonly url: string,
    readonly home: string,
    private readonly child: ChildProcess,
    private readonly output: string[],
  ) {}

  /** @param vehicles ids to register before the start */
  static async start(home: string, vehicles: string[], environment: Record<string, string> = {}): Promise<Service> {
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
    const child = spawn(process.execPath, [MAIN], {
      env: {
        ...process.env,
        TALLYBAY_HOME: home,
        TALLYBAY_INGEST_PORT: String(port),
        TALLYBAY_LOG_LEVEL: 'warn',
        UV_THREADPOOL_SIZE: '8',
        ...environment,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    const output: string[] = [];
    child.stdout.on('data', (text) => output.push(String(text)));
    child.stderr.on('data', (text) => output.push(String(text)));
    const service = new Service(`http://127.0.0.1:${port}`, home, child, output);
    await service.untilReady();
    return service;
  }

  get lake(): string {
    return join(this.home, 'lake');
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

async function freePort(): Promise<number> {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const address = server.address();
      server.close(() => resolve(typeof address === 'object' && address ? address.port : 0));
    });
  });
}
