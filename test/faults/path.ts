import { type ChildProcess, spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import type { PipelineState, Upload } from '@tallybay/contracts';
import { filesOfUpload, partFile } from '@tallybay/lake';
import { openRegistry, type Registry } from '@tallybay/registry';
import { projectRoot } from './broker.js';
import { freePort } from './free-port.js';
import { LOAD_VEHICLES } from './load.js';

export type Role = 'all' | 'receive' | 'decode';

const MAIN = join(projectRoot(), 'apps', 'ingest', 'dist', 'main.js');

/** One ingest process on a port of its own, which it keeps over restarts. */
export class PathProcess {
  private child: ChildProcess | null = null;
  private output: string[] = [];
  private exited: Promise<unknown> = Promise.resolve();

  constructor(
    readonly role: Role,
    readonly port: number,
    private readonly environment: Record<string, string>,
  ) {}

  get url(): string {
    return `http://127.0.0.1:${this.port}`;
  }

  get alive(): boolean {
    return this.child !== null && this.child.exitCode === null && this.child.signalCode === null;
  }

  get pid(): number {
    return this.child!.pid!;
  }

  /** How it ended, for messages. */
  get end(): string {
    return `ended by ${this.child?.signalCode ?? this.child?.exitCode}`;
  }

  get log(): string {
    return this.output.join('');
  }

  /** @param ready wait until it answers that it is ready */
  async start(ready = true): Promise<void> {
    this.output = [];
    const child = spawn(process.execPath, [MAIN], {
      env: {
        ...process.env,
        UV_THREADPOOL_SIZE: '8',
        TALLYBAY_LOG_LEVEL: process.env.TALLYBAY_LOG_LEVEL ?? 'warn',
        TALLYBAY_DECODE_THREADS: '1',
        ...this.environment,
        TALLYBAY_ROLE: this.role,
        TALLYBAY_INGEST_PORT: String(this.port),
      },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.child = child;
    this.exited = new Promise((resolve) => child.once('exit', resolve));
    const keep = (text: Buffer) => {
      this.output.push(text.toString());
      if (this.output.length > 2_000) this.output.splice(0, 1_000);
    };
    child.stdout!.on('data', keep);
    child.stderr!.on('data', keep);
    if (ready) await this.untilReady();
  }

  async kill(): Promise<void> {
    this.child?.kill('SIGKILL');
    await this.exited;
  }

  /** Resolves with the exit code. */
  async stop(): Promise<number | null> {
    this.child?.kill('SIGTERM');
    await this.exited;
    return this.child?.exitCode ?? null;
  }

  async untilReady(withinMs = 300_000): Promise<void> {
    const untilMs = Date.now() + withinMs;
    for (;;) {
      if (!this.alive) throw new Error(`the ${this.role} process ended:\n${this.log}`);
      const response = await fetch(`${this.url}/health/ready`, { signal: AbortSignal.timeout(5_000) }).catch(
        () => null,
      );
      if (response?.ok) return;
      if (Date.now() > untilMs) throw new Error(`the ${this.role} process is not ready:\n${this.log.slice(-4_000)}`);
      await sleep(50);
    }
  }
}

/** A home folder and the processes that share it. */
export class Path {
  readonly processes: PathProcess[] = [];

  private constructor(
    readonly home: string,
    private readonly environment: Record<string, string>,
  ) {}

  /** @param environment for every process: Kafka's brokers, a database. Removed at `close`. */
  static async create(environment: Record<string, string> = {}, home?: string): Promise<Path> {
    const directory = home ?? mkdtempSync(join(tmpdir(), 'tallybay-path-'));
    mkdirSync(directory, { recursive: true });
    const path = new Path(directory, environment);
    await path.withRegistry((registry) =>
      registry.importFleet({
        name: 'faults',
        depots: [{ id: 'northgate', name: 'Northgate', timeZone: 'America/Denver' }],
        vehicles: LOAD_VEHICLES.map((id) => ({ id, vehicleClass: 'service_pickup', depot: 'northgate' })),
        assignments: [],
        profiles: [],
      }),
    );
    return path;
  }

  get lake(): string {
    return join(this.home, 'lake');
  }

  async add(role: Role, extra: Record<string, string> = {}): Promise<PathProcess> {
    const process = new PathProcess(role, await freePort(), {
      TALLYBAY_HOME: this.home,
      ...this.environment,
      ...extra,
    });
    this.processes.push(process);
    await process.start();
    return process;
  }

  async withRegistry<T>(work: (registry: Registry) => Promise<T>): Promise<T> {
    const url = this.environment.TALLYBAY_DATABASE_URL;
    const registry = await openRegistry(
      url ? { kind: 'postgres', url } : { kind: 'sqlite', file: join(this.home, 'registry.sqlite') },
    );
    try {
      return await work(registry);
    } finally {
      await registry.close();
    }
  }

  /** Uploads that the service says are stored, now. */
  stored(): Promise<{ id: string; vehicle: string }[]> {
    return this.withRegistry(async (registry) =>
      (await registry.uploads.withState('stored')).map(({ id, vehicle }) => ({ id, vehicle: vehicle ?? '' })),
    );
  }

  /** Of those, the ones whose rows are not in the lake as a whole Parquet file: must be none at any moment. */
  async storedButAbsent(): Promise<string[]> {
    const stored = await this.stored();
    const absent = stored.filter((upload) => !isWhole(this.samplesFile(upload)));
    if (absent.length === 0) return [];
    // What was sent for another vehicle between the two looks was rightly stored at the first.
    const still = new Map((await this.stored()).map(({ id, vehicle }) => [id, vehicle]));
    return absent
      .filter((upload) => still.get(upload.id) === upload.vehicle && !isWhole(this.samplesFile(upload)))
      .map(({ id }) => id);
  }

  /** The one that counts; where it should be when there is none. */
  samplesFile({ id, vehicle }: { id: string; vehicle: string }): string {
    const { paths } = filesOfUpload(this.lake, 'samples', { vehicleId: vehicle, uploadId: id });
    return paths[0] ?? partFile(this.lake, 'samples', vehicle, id, 0);
  }

  /** Is there any upload between its arrival and the lake? */
  isBusy(): Promise<boolean> {
    return this.withRegistry(async (registry) => {
      const { landed = 0, queued = 0, decoding = 0 } = await registry.uploads.countByState();
      return landed + queued + decoding > 0;
    });
  }

  /**
   * Waits until nothing is under way and everything is committed, for as long as things move on: how long that takes depends
   * on the machine. @throws Error with the processes' logs when nothing has changed for `stillMs`
   */
  async settle(stillMs = 120_000): Promise<PipelineState> {
    let seen = '';
    for (let untilMs = Date.now() + stillMs; Date.now() < untilMs; await sleep(200)) {
      const process = this.processes.find((one) => one.alive);
      const state = process ? await get<PipelineState>(`${process.url}/v1/pipeline`).catch(() => null) : null;
      if (!state) continue;
      const { landed = 0, queued = 0, decoding = 0 } = state.uploads;
      if (landed + queued + decoding + state.lag === 0) return state;
      const now = JSON.stringify(state);
      if (now === seen) continue;
      seen = now;
      untilMs = Date.now() + stillMs;
    }
    const logs = this.processes.map(
      (process) => `--- ${process.role} ${process.alive ? 'runs' : process.end}\n${process.log.slice(-3_000)}`,
    );
    throw new Error(`the path does not settle: ${seen}\n${logs.join('\n')}`);
  }

  async close(): Promise<void> {
    await Promise.all(this.processes.map((process) => process.kill()));
    rmSync(this.home, { recursive: true, force: true });
  }
}

const isWhole = (file: string): boolean => {
  try {
    return readFileSync(file).subarray(-4).toString('latin1') === 'PAR1';
  } catch {
    return false;
  }
};

export async function get<T>(url: string): Promise<T> {
  const response = await fetch(url, { signal: AbortSignal.timeout(20_000) });
  if (!response.ok) throw new Error(`${url}: ${response.status} ${await response.text()}`);
  return (await response.json()) as T;
}

export async function postJson<T>(url: string, body: unknown): Promise<T> {
  const response = await fetch(url, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
  const text = await response.text();
  if (!response.ok) throw new Error(`${url}: ${response.status} ${text}`);
  return JSON.parse(text) as T;
}

/** The upload once it is stored or failed. */
export async function ended(url: string, id: string, withinMs = 60_000): Promise<Upload> {
  const untilMs = Date.now() + withinMs;
  for (;;) {
    const upload = await get<Upload>(`${url}/v1/uploads/${id}`);
    if (upload.state === 'stored' || upload.state === 'failed') return upload;
    if (Date.now() > untilMs) throw new Error(`upload ${id} is still ${upload.state}`);
    await sleep(50);
  }
}
