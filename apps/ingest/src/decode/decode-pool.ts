import { Worker } from 'node:worker_threads';
import type { LogChunkMeta } from '@tallybay/contracts';
import type { VehicleLimit } from '@tallybay/risk';
import type { ThreadReply, ThreadRequest } from './decode-thread.js';

type RequestWithoutId = ThreadRequest extends infer R ? (R extends { id: number } ? Omit<R, 'id'> : never) : never;

export interface ChunkToDecode {
  meta: LogChunkMeta;
  plan: string;
  value: Uint8Array;
  /** Limits in force for the vehicle; wanted with the first chunk of an upload. */
  limits: readonly VehicleLimit[];
}

/** A thread that ends at once is not started again faster than this. */
const RESTART_AFTER_MS = 500;

/** The thread has died, and with it what it had of its uploads; a new one takes its place. */
export class ThreadEnded extends Error {
  override readonly name = 'ThreadEnded';
}

/** Threads that decode. Chunks of one partition always go to the same thread, so they stay in order. */
export class DecodePool {
  private readonly threads: DecodeThreadHandle[];

  constructor(
    count: number,
    lake: string,
    private readonly nowMs: () => number,
    owner: string,
  ) {
    this.threads = Array.from({ length: count }, (_, i) => new DecodeThreadHandle(lake, `${owner}-${i}`));
  }

  get size(): number {
    return this.threads.length;
  }

  /** Resolves with the thread's answer. @throws ThreadEnded */
  decode(partition: number, chunk: ChunkToDecode): Promise<ThreadReply> {
    return this.threadOf(partition).ask({ kind: 'chunk', ...chunk, nowMs: this.nowMs() });
  }

  /** Forgets attempts at the upload up to `attempt` and removes what they wrote. */
  async drop(partition: number, uploadId: string, attempt: number): Promise<void> {
    await this.threadOf(partition)
      .ask({ kind: 'drop', uploadId, attempt })
      .catch((error) => {
        // Then there is nothing left to forget; its files are removed as a dead owner's at the next start.
        if (!(error instanceof ThreadEnded)) throw error;
      });
  }

  async close(): Promise<void> {
    await Promise.all(this.threads.map((thread) => thread.close()));
  }

  private threadOf(partition: number): DecodeThreadHandle {
    return this.threads[partition % this.threads.length]!;
  }
}

class DecodeThreadHandle {
  private worker: Worker;
  private readonly waiting = new Map<
    number,
    { resolve: (reply: ThreadReply) => void; reject: (error: Error) => void }
  >();
  private nextId = 0;
  private generation = 0;
  private closed = false;
  private restarting: Promise<void> | null = null;

  constructor(
    private readonly lake: string,
    private readonly owner: string,
  ) {
    this.worker = this.launch();
  }

  async ask(request: RequestWithoutId): Promise<ThreadReply> {
    await this.restarting;
    if (this.closed) throw new ThreadEnded('the decode pool is closed');
    const id = this.nextId++;
    return new Promise((resolve, reject) => {
      this.waiting.set(id, { resolve, reject });
      // A message's value is a view of everything that was read with it: only its own bytes go over, and are handed over.
      if (request.kind === 'chunk') {
        const value = new Uint8Array(request.value);
        this.worker.postMessage({ ...request, value, id }, [value.buffer as ArrayBuffer]);
      } else this.worker.postMessage({ ...request, id });
    });
  }

  async close(): Promise<void> {
    this.closed = true;
    await this.restarting;
    await this.worker.terminate();
  }

  private launch(): Worker {
    const owner = `${this.owner}.${this.generation++}`;
    const worker = new Worker(new URL('./decode-thread.js', import.meta.url), {
      workerData: { lake: this.lake, owner },
      // The main program's flags (an inspector's port, import conditions of a test runner) are not for threads.
      execArgv: [],
      // Decoding makes little garbage; a small young generation keeps a thread's share of memory small as well.
      resourceLimits: { maxYoungGenerationSizeMb: 8 },
    });
    worker.on('message', (reply: ThreadReply) => {
      this.waiting.get(reply.id)?.resolve(reply);
      this.waiting.delete(reply.id);
    });
    let why: Error | null = null;
    worker.on('error', (error) => {
      why = error as Error;
    });
    worker.on('exit', (code) => this.ended(why?.message ?? `code ${code}`));
    return worker;
  }

  private ended(why: string): void {
    for (const { reject } of this.waiting.values()) reject(new ThreadEnded(`A decode thread ended: ${why}`));
    this.waiting.clear();
    if (this.closed) return;
    this.restarting ??= new Promise((resolve) => {
      setTimeout(() => {
        if (!this.closed) this.worker = this.launch();
        this.restarting = null;
        resolve();
      }, RESTART_AFTER_MS);
    });
  }
}
