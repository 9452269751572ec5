import { type ChildProcess, spawn } from 'node:child_process';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { projectRoot } from '../faults/broker.js';
import { freePort } from '../faults/free-port.js';

/** The api as a process of its own, beside an ingest service on the same home folder. */
export class ApiProcess {
  private constructor(
    readonly url: string,
    private readonly child: ChildProcess,
  ) {}

  static async start(home: string, ingestUrl: string, environment: Record<string, string> = {}): Promise<ApiProcess> {
    const port = await freePort();
    const output: string[] = [];
    const child = spawn(process.execPath, [join(projectRoot(), 'apps', 'api', 'dist', 'main.js')], {
      env: {
        ...process.env,
        UV_THREADPOOL_SIZE: '8',
        TALLYBAY_LOG_LEVEL: 'warn',
        TALLYBAY_RANK_ENABLED: 'false',
        ...environment,
        TALLYBAY_HOME: home,
        TALLYBAY_API_PORT: String(port),
        TALLYBAY_INGEST_URL: ingestUrl,
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    for (const stream of [child.stdout!, child.stderr!]) stream.on('data', (text) => output.push(String(text)));
    const api = new ApiProcess(`http://127.0.0.1:${port}`, child);
    for (let turn = 0; turn < 600; turn++) {
      if (child.exitCode !== null) throw new Error(`the api ended: ${output.join('')}`);
      const answer = await fetch(`${api.url}/health/ready`).catch(() => null);
      if (answer?.ok) return api;
      await sleep(100);
    }
    await api.stop();
    throw new Error(`the api is not ready: ${output.join('')}`);
  }

  get pid(): number {
    return this.child.pid!;
  }

  async stop(): Promise<void> {
    if (this.child.exitCode !== null || this.child.signalCode !== null) return;
    const ended = new Promise((resolve) => this.child.once('exit', resolve));
    this.child.kill('SIGTERM');
    await ended;
  }
}
