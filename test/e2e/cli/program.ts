import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { onTestFinished } from 'vitest';

export const root = join(import.meta.dirname, '../../..');

export interface Ended {
  exitCode: number | null;
  out: string;
  errors: string;
}

/** A started program of this project; ended with the test if it has not ended itself. */
export class Program {
  out = '';
  errors = '';
  readonly ended: Promise<Ended>;

  private constructor(readonly child: ChildProcess) {
    child.stdout?.on('data', (part: Buffer) => (this.out += part.toString()));
    child.stderr?.on('data', (part: Buffer) => (this.errors += part.toString()));
    this.ended = new Promise((resolve) =>
      child.once('close', (exitCode) => resolve({ exitCode, out: this.out, errors: this.errors })),
    );
    onTestFinished(async () => {
      child.kill('SIGTERM');
      await this.ended;
    });
  }

  /** @param script path from the repository root */
  static start(
    script: string,
    args: string[],
    options: { cwd?: string; env?: Record<string, string>; node?: string } = {},
  ): Program {
    const { FORCE_COLOR: _, ...env } = process.env;
    return new Program(
      spawn(options.node ?? process.execPath, [join(root, script), ...args], {
        cwd: options.cwd ?? root,
        env: { ...env, ...options.env },
        stdio: ['ignore', 'pipe', 'pipe'],
      }),
    );
  }

  /** Resolves when the output holds `text`; rejects when the program ends before. */
  async untilSaid(text: string): Promise<void> {
    while (!this.out.includes(text)) {
      const ended = await Promise.race([
        this.ended,
        new Promise<null>((resolve) => setTimeout(() => resolve(null), 100)),
      ]);
      if (ended && !this.out.includes(text))
        throw new Error(`ended with ${ended.exitCode} before saying "${text}":\n${ended.out}\n${ended.errors}`);
    }
  }
}

export const tallybay = (args: string[], options: Parameters<typeof Program.start>[2] = {}): Promise<Ended> =>
  Program.start('apps/cli/bin/tallybay.js', args, options).ended;

export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'tallybay-e2e-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}
