import { type ChildProcess, fork } from 'node:child_process';
import { setPriority } from 'node:os';
import { fileURLToPath } from 'node:url';
import { DuckDBInstance } from '@duckdb/node-api';
import { lakeSql } from '@tallybay/lake';

/** Run with this argument the file is the peer's own process. */
const PEER = '--peer';
/** As the service's analysts' processes, so that other work on the machine takes as much from both. */
const NICENESS = 10;

export interface HandFigures {
  seconds: number;
  cpuSeconds: number;
  rows: number;
}

interface Job {
  lake: string;
  threads: number;
}

/**
 * The peer: DuckDB by hand in a process of its own, over the views of the generated `lake.sql`; an answer is fetched chunk by
 * chunk to its end, and nothing is done with it.
 */
export class ByHand {
  private constructor(private readonly child: ChildProcess) {}

  static async start(job: Job): Promise<ByHand> {
    const child = fork(fileURLToPath(import.meta.url), [PEER, JSON.stringify(job)]);
    const peer = new ByHand(child);
    await peer.next();
    return peer;
  }

  /** @throws Error what DuckDB says */
  async ask(sql: string): Promise<HandFigures> {
    this.child.send({ sql });
    const answer = (await this.next()) as HandFigures | { failed: string };
    if ('failed' in answer) throw new Error(answer.failed);
    return answer;
  }

  async stop(): Promise<void> {
    const ended = new Promise((resolve) => this.child.once('exit', resolve));
    this.child.disconnect();
    await ended;
  }

  private next(): Promise<unknown> {
    return new Promise((resolve, reject) => {
      const onExit = (code: number | null) => reject(new Error(`the peer ended with ${code}`));
      this.child.once('exit', onExit);
      this.child.once('message', (message) => {
        this.child.off('exit', onExit);
        resolve(message);
      });
    });
  }
}

async function servePeer({ lake, threads }: Job): Promise<void> {
  setPriority(NICENESS);
  const instance = await DuckDBInstance.create(':memory:', { threads: String(threads) });
  const connection = await instance.connect();
  await connection.run(lakeSql(lake));
  process.on('message', ({ sql }: { sql: string }) => {
    const cpuStart = process.cpuUsage();
    const startMs = performance.now();
    const run = async () => {
      const result = await connection.stream(sql);
      let rows = 0;
      for (let chunk = await result.fetchChunk(); chunk && chunk.rowCount > 0; chunk = await result.fetchChunk())
        rows += chunk.rowCount;
      const { user, system } = process.cpuUsage(cpuStart);
      return { seconds: (performance.now() - startMs) / 1000, cpuSeconds: (user + system) / 1e6, rows };
    };
    run().then(
      (figures) => process.send!(figures),
      (error: Error) => process.send!({ failed: error.message }),
    );
  });
  process.once('disconnect', () => process.exit(0));
  process.send!('ready');
}

if (process.argv[2] === PEER) await servePeer(JSON.parse(process.argv[3]!) as Job);
