import { TallybayError } from '@tallybay/contracts';
import { type ChildOptions, QueryChild } from './query-child.js';

/** A process is replaced after so many statements, or when it keeps this share of its memory. */
const STATEMENTS_A_CHILD = 200;
const KEPT_SHARE = 0.6;
const PATIENCE_MS = 30_000;
const MOST_WAITING = 200;

export interface Seat {
  person: string;
  memoryMb: number;
  /** Queries of the person that may run at once. */
  atOnce: number;
  signal: AbortSignal;
}

interface Waiting {
  seat: Seat;
  grant(): void;
}

export interface PoolOptions extends ChildOptions {
  /** Processes at most. */
  processes: number;
}

/**
 * Processes for analysts, at most so many; one is kept warm. A person's turn comes when a process is free and fewer than
 * their share run; among those who wait, the one with fewest running is first.
 */
export class QueryPool {
  private readonly idle: QueryChild[] = [];
  private readonly busy = new Set<QueryChild>();
  private readonly running = new Map<string, number>();
  private readonly waiting: Waiting[] = [];
  private taken = 0;
  private warming: Promise<void> | null = null;
  private closed = false;

  constructor(private readonly options: PoolOptions) {}

  get counts(): { running: number; waiting: number; idle: number } {
    return { running: this.taken, waiting: this.waiting.length, idle: this.idle.length };
  }

  /** @throws TallybayError `query_busy`, `query_cancelled` */
  async acquire(seat: Seat): Promise<QueryChild> {
    if (!this.mayRun(seat)) await this.wait(seat);
    else this.seat(seat);
    try {
      const child = await this.child(seat.memoryMb);
      this.busy.add(child);
      return child;
    } catch (error) {
      this.unseat(seat);
      throw error;
    }
  }

  /** @param clean the answer came to its end: the process can take another */
  release(child: QueryChild, seat: Seat, clean: boolean): void {
    this.busy.delete(child);
    const kept = child.residentBytes ?? 0;
    const isFit =
      clean &&
      child.isAlive &&
      !this.closed &&
      child.asked < STATEMENTS_A_CHILD &&
      kept < child.memoryMb * KEPT_SHARE * 1024 ** 2 &&
      this.idle.length < this.options.processes;
    if (isFit) this.idle.push(child);
    else child.end('spare');
    this.unseat(seat);
    void this.warm();
  }

  /** Has a process ready, so that the next person does not wait for its start. */
  warm(): Promise<void> {
    if (this.closed || this.idle.length > 0 || this.warming) return this.warming ?? Promise.resolve();
    this.warming = this.start(this.options.memoryMb)
      .then((child) => {
        if (this.closed) child.end('spare');
        else this.idle.push(child);
      })
      .catch(() => {})
      .finally(() => {
        this.warming = null;
      });
    return this.warming;
  }

  async close(): Promise<void> {
    this.closed = true;
    for (const child of [...this.idle, ...this.busy]) child.end('cancelled');
    await this.warming;
  }

  private async child(memoryMb: number): Promise<QueryChild> {
    if (this.idle.length === 0 && this.warming && memoryMb === this.options.memoryMb) await this.warming;
    for (;;) {
      const index = this.idle.findIndex((child) => child.memoryMb === memoryMb);
      if (index < 0) return this.start(memoryMb);
      const [child] = this.idle.splice(index, 1);
      if (child!.isAlive) return child!;
    }
  }

  private async start(memoryMb: number): Promise<QueryChild> {
    const child = new QueryChild({ ...this.options, memoryMb });
    await child.ready();
    return child;
  }

  private mayRun({ person, atOnce }: Seat): boolean {
    return this.taken < this.options.processes && (this.running.get(person) ?? 0) < atOnce;
  }

  private seat({ person }: Seat): void {
    this.taken++;
    this.running.set(person, (this.running.get(person) ?? 0) + 1);
  }

  private unseat({ person }: Seat): void {
    this.taken--;
    const left = (this.running.get(person) ?? 1) - 1;
    if (left > 0) this.running.set(person, left);
    else this.running.delete(person);
    this.grantNext();
  }

  private grantNext(): void {
    for (;;) {
      const ready = this.waiting.filter(({ seat }) => this.mayRun(seat));
      const next = ready.sort((a, b) => this.load(a) - this.load(b))[0];
      if (!next) return;
      this.waiting.splice(this.waiting.indexOf(next), 1);
      this.seat(next.seat);
      next.grant();
    }
  }

  private load({ seat }: Waiting): number {
    return this.running.get(seat.person) ?? 0;
  }

  private wait(seat: Seat): Promise<void> {
    if (this.waiting.length >= MOST_WAITING) throw busy(`${MOST_WAITING} queries are waiting already`);
    return new Promise((resolve, reject) => {
      const leave = (error: TallybayError) => {
        const index = this.waiting.indexOf(entry);
        if (index < 0) return;
        this.waiting.splice(index, 1);
        done();
        reject(error);
      };
      const onAbort = () => leave(new TallybayError('query_cancelled', 'The query was cancelled while it waited', {}));
      const timer = setTimeout(() => leave(busy(`no process was free for ${PATIENCE_MS / 1000} s`)), PATIENCE_MS);
      const done = () => {
        clearTimeout(timer);
        seat.signal.removeEventListener('abort', onAbort);
      };
      const entry: Waiting = {
        seat,
        grant: () => {
          done();
          resolve();
        },
      };
      seat.signal.addEventListener('abort', onAbort);
      this.waiting.push(entry);
    });
  }
}

const busy = (why: string): TallybayError =>
  new TallybayError('query_busy', `Too many queries are running: ${why}`, { advice: 'Try again in a moment.' });
