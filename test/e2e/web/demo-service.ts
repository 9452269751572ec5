import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, readdirSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';

const MAIN = fileURLToPath(new URL('../../../apps/cli/dist/demo/main.js', import.meta.url));

/** The services with a small real lake, made by the demo as a person would start it. */
export class DemoService {
  private constructor(
    readonly url: string,
    private readonly folder: string,
    private readonly child: ChildProcess,
  ) {}

  static async start(): Promise<DemoService> {
    const folder = mkdtempSync(join(tmpdir(), 'tallybay-web-'));
    const size = ['--vehicles', '12', '--weeks', '2', '--scale', '0.2'];
    const child = spawn(process.execPath, [MAIN, '--data', folder, ...size], {
      env: { ...process.env, UV_THREADPOOL_SIZE: '16' },
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    // Read to the end of its life: a pipe that nobody reads would end the demo.
    const lines = createInterface({ input: child.stdout! });
    const url = await new Promise<string>((resolve, reject) => {
      lines.on('line', (line) => {
        const found = /^Serving at (\S+)/.exec(line)?.[1];
        if (found) resolve(found);
      });
      lines.once('close', () => reject(new Error('the demo ended before it served')));
    });
    return new DemoService(url, folder, child);
  }

  async stop(): Promise<void> {
    const ended = new Promise((resolve) => this.child.once('exit', resolve));
    this.child.kill('SIGINT');
    await ended;
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** A log of the fleet as its recorder wrote it. */
  log(): string {
    const fleet = join(this.folder, 'fleet');
    const file = readdirSync(fleet, { recursive: true, encoding: 'utf8' }).find((name) => name.endsWith('.csv'));
    if (!file) throw new Error(`no log in ${fleet}`);
    return join(fleet, file);
  }
}
