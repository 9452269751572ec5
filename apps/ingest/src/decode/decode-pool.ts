import { Worker } from 'node:worker_threads';
import type { LogChunkMeta } from '@tallybay/contracts';
import type { ThreadReply, ThreadRequest } from './decode-thread.js';

type RequestWithoutId = ThreadRequest extends infer R ? (R extends { id: number } ? Omit<R, 'id'> : never) : never;

/** Threads that decode. An upload always goes to the same thread, so its chunks stay in order. */
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

  /** Chunks of one partition go to one thread; resolves with the thread's answer. */
  decode(partition: number, meta: LogChunkMeta, plan: string, value: Uint8Array): Promise<ThreadReply> {
    return this.threadOf(partition).ask({ kind: 'chunk', meta, plan, value, nowMs: this.nowMs() });
  }

  drop(partition: number, uploadId: string): Promise<ThreadReply> {
    return this.threadOf(partition).ask({ kind: 'drop', uploadId });
  }

  async close(): Promise<void> {
    await Promise.all(this.threads.map((thread) => thread.close()));
  }

  private threadOf(partition: number): DecodeThreadHandle {
    return this.threads[partition % this.threads.length]!;
  }
}

class DecodeThreadHandle {
  private readonly worker: Worker;
  private readonly waiting = new Map<
    number,
    { resolve: (reply: ThreadReply) => void; reject: (error: Error) => void }
  >();
  private nextId = 0;
  private ended: Error | null = null;

  constructor(lake: string, owner: string) {
    this.worker = new Worker(new URL('./decode-thread.js', import.meta.url), { workerData: { lake, owner } });
    this.worker.on('message', (reply: ThreadReply) => {
      this.waiting.get(reply.id)?.resolve(reply);
      this.waiting.delete(reply.id);
    });
    this.worker.on('error', (error) => this.fail(error as Error));
    this.worker.on('exit', (code) => this.fail(new Error(`a decode thread ended with code ${code}`)));
  }

  ask(request: RequestWithoutId): Promise<ThreadReply> {
    if (this.ended) return Promise.reject(this.ended);
    const id = this.nextId++;
    return new Promise((resolve, reject) => {
      this.waiting.set(id, { resolve, reject });
      this.worker.postMessage({ ...request, id });
    });
  }

  async close(): Promise<void> {
    this.ended ??= new Error('the decode pool is closed');
    await this.worker.terminate();
  }

  private fail(error: Error): void {
    this.ended ??= error;
    for (const { reject } of this.waiting.values()) reject(this.ended);
    this.waiting.clear();
  }
}
