import { type ChildProcess, spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import {
  type AnalystAskMessage,
  FRAME,
  failedFrameSchema,
  PROBLEMS,
  type ProblemCode,
  TallybayError,
} from '@tallybay/contracts';
import { type Frame, framesOf } from './frames.js';

/** The analysts' program, from the sources as well as from the build: it is always the built one that runs. */
const PROGRAM = fileURLToPath(new URL('../../../../query/dist/main.js', import.meta.url));
const PRLIMIT = ['/usr/bin/prlimit', '/bin/prlimit'].find((file) => existsSync(file)) ?? null;
const NICE = ['/usr/bin/nice', '/bin/nice'].find((file) => existsSync(file)) ?? null;
/** Analysts wait rather than uploads. */
const NICENESS = 10;
/**
 * Address space beside the query's own data: stacks and heaps of the runtime, some 570 MB before the first question, and what
 * malloc keeps of earlier ones. What is resident is looked at, and held to much less.
 */
const RUNTIME_MB = 1_024;
/** Resident beside the query's own data. */
const RUNTIME_RESIDENT_MB = 256;
/** DuckDB is told less than the process has, so that most queries that want too much end with a sentence. */
const DUCKDB_SHARE = 0.7;
/** JavaScript only passes blocks on. */
const JS_HEAP_MB = 256;
/** Blocks live outside the heap, so each collection is small: helper threads would wait for work beside DuckDB's. */
const JS_GC = '--single-threaded-gc';
const RSS_LOOK_MS = 200;
/** A backstop for a process that nobody ends; the clock on the wall is the limit that people meet. */
const CPU_SECONDS = 3_600;

export interface ChildOptions {
  lake: string;
  results: string;
  threads: number;
  memoryMb: number;
}

/** Why a child was ended by us. */
export type EndReason = 'time' | 'memory' | 'cancelled' | 'spare';

/** One process for analysts' statements, one after the other. What goes wrong in it stays in it. */
export class QueryChild {
  private readonly process: ChildProcess;
  private readonly frames: AsyncGenerator<Frame>;
  private readonly exited: Promise<string>;
  private readonly watch: NodeJS.Timeout;
  private reason: EndReason | null = null;
  private stderr = '';
  asked = 0;

  constructor(private readonly options: ChildOptions) {
    this.process = launch(options);
    this.frames = framesOf(this.process.stdout!);
    this.process.stderr!.on('data', (text) => {
      this.stderr = (this.stderr + String(text)).slice(-2_000);
    });
    // A write to a process that has just ended; its end is told elsewhere.
    this.process.stdin!.on('error', () => {});
    this.exited = new Promise((resolve) => {
      this.process.once('exit', (code, signal) => resolve(signal ?? `exit code ${code}`));
      this.process.once('error', (error) => resolve(error.message));
    });
    this.watch = setInterval(() => this.lookAtMemory(), RSS_LOOK_MS);
    this.watch.unref();
    void this.exited.then(() => clearInterval(this.watch));
  }

  get memoryMb(): number {
    return this.options.memoryMb;
  }

  get pid(): number | undefined {
    return this.process.pid;
  }

  get isAlive(): boolean {
    return this.process.exitCode === null && this.process.signalCode === null && this.reason === null;
  }

  /** Resident bytes now; null where the system does not tell. */
  get residentBytes(): number | null {
    return residentBytes(this.process.pid);
  }

  /** @throws TallybayError `internal` when it does not start */
  async ready(): Promise<void> {
    const frame = await this.next();
    if (frame.kind !== FRAME.ready) throw new TallybayError('internal', `The query process began with ${frame.kind}`);
  }

  /**
   * Frames of one answer, up to and with `end`. Time in which the reader has not taken what is there does not count.
   * @throws TallybayError what the statement did wrong; `query_limit`, `query_cancelled` when the process had to end
   */
  async *answer(ask: AnalystAskMessage, maxSeconds: number): AsyncGenerator<Frame> {
    this.asked++;
    this.process.stdin!.write(`${JSON.stringify(ask)}\n`);
    let leftMs = maxSeconds * 1000;
    for (;;) {
      const startedMs = performance.now();
      const timer = setTimeout(() => this.end('time'), Math.max(1, leftMs));
      const frame = await this.next(maxSeconds).finally(() => clearTimeout(timer));
      leftMs -= performance.now() - startedMs;
      if (frame.kind === FRAME.failed) throw failure(frame.body);
      yield frame;
      if (frame.kind === FRAME.end) return;
    }
  }

  /** Ends it at once, whatever it is doing. */
  end(reason: EndReason): void {
    this.reason ??= reason;
    this.process.kill('SIGKILL');
  }

  private async next(maxSeconds = 0): Promise<Frame> {
    const { value, done } = await this.frames.next();
    if (!done) return value;
    throw this.ended(await this.exited, maxSeconds);
  }

  private ended(how: string, maxSeconds: number): TallybayError {
    switch (this.reason) {
      case 'time':
        return new TallybayError('query_limit', `The query took longer than ${maxSeconds} s`, {
          advice: 'Filter by vehicle_id and time, or ask dwell and signal_stats instead of samples.',
        });
      case 'cancelled':
        return new TallybayError('query_cancelled', 'The query was cancelled', {});
      case 'memory':
        return outOfMemory(`more than ${this.memoryMb} MB`);
      case 'spare':
      case null:
        if (how === 'SIGABRT' || how === 'SIGSEGV' || how === 'SIGTRAP' || how === 'exit code 134' || how === 'SIGKILL')
          return outOfMemory(`what it may have (${how})`);
        return new TallybayError('internal', `The query process ended by itself: ${how}`, {
          cause: new Error(this.stderr),
        });
    }
  }

  private lookAtMemory(): void {
    const bytes = this.residentBytes;
    if (bytes !== null && bytes > (this.memoryMb + RUNTIME_RESIDENT_MB) * 1024 ** 2) this.end('memory');
  }
}

const outOfMemory = (what: string): TallybayError =>
  new TallybayError('query_limit', `The query needed more memory than it may have: ${what}`, {
    advice: 'Ask for fewer rows or columns, filter earlier (vehicle_id, time), or aggregate in steps.',
  });

function failure(body: Buffer): TallybayError {
  const { code, detail, advice } = failedFrameSchema.parse(JSON.parse(body.toString('utf8')));
  const known = Object.hasOwn(PROBLEMS, code) ? (code as ProblemCode) : 'internal';
  return new TallybayError(known, detail, advice === undefined ? {} : { advice });
}

function launch({ lake, results, threads, memoryMb }: ChildOptions): ChildProcess {
  const limits = [`--data=${(memoryMb + RUNTIME_MB) * 1024 ** 2}`, `--cpu=${CPU_SECONDS}`, '--fsize=0', '--core=0'];
  const command = [
    ...(NICE ? [NICE, '-n', String(NICENESS)] : []),
    // No byte can be written to any file, whatever SQL finds a way to.
    ...(PRLIMIT ? [PRLIMIT, ...limits] : []),
    ...[
      process.execPath,
      `--max-old-space-size=${JS_HEAP_MB}`,
      JS_GC,
      '--disallow-code-generation-from-strings',
      PROGRAM,
    ],
  ];
  return spawn(command[0]!, command.slice(1), {
    // Nothing of ours is in its environment, so nothing can be read from it.
    env: {
      ...{ TALLYBAY_QUERY_LAKE: lake, TALLYBAY_QUERY_RESULTS: results, TALLYBAY_QUERY_THREADS: String(threads) },
      TALLYBAY_QUERY_DUCKDB_MB: String(Math.floor(memoryMb * DUCKDB_SHARE)),
      ...{ UV_THREADPOOL_SIZE: '4', MALLOC_ARENA_MAX: '2', TZ: 'UTC' },
    },
    cwd: '/',
    stdio: ['pipe', 'pipe', 'pipe'],
  });
}

function residentBytes(pid: number | undefined): number | null {
  try {
    const kilobytes = /VmRSS:\s+(\d+) kB/.exec(readFileSync(`/proc/${pid}/status`, 'utf8'))?.[1];
    return kilobytes === undefined ? null : Number(kilobytes) * 1024;
  } catch {
    return null;
  }
}
