import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { onTestFinished } from 'vitest';
import { run } from '../../../../apps/cli/src/run.js';
import type { Terminal } from '../../../../apps/cli/src/terminal.js';

export interface Ran {
  exitCode: number;
  /** stdout, line by line. */
  out: string[];
  /** stderr, line by line. */
  notes: string[];
}

/** A folder that is gone when the test has ended. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'tallybay-cli-'));
  onTestFinished(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Runs the whole program in-process with a terminal that keeps what is printed. */
export async function runTallybay(
  args: string[],
  options: { cwd?: string; env?: Record<string, string>; stdin?: Uint8Array; signal?: AbortSignal } = {},
): Promise<Ran> {
  const out: string[] = [];
  const notes: string[] = [];
  const terminal: Terminal = {
    out: (line) => void out.push(...line.split('\n')),
    note: (line) => void notes.push(...line.split('\n')),
    stdin: Readable.from(options.stdin ? [Buffer.from(options.stdin)] : []),
    bar: null,
    sharedScreen: false,
    env: options.env ?? {},
    cwd: options.cwd ?? tmpdir(),
    signal: options.signal ?? new AbortController().signal,
  };
  const exitCode = await run(args, terminal);
  return { exitCode, out, notes };
}
