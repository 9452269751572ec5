import type { Readable } from 'node:stream';

/** What a command may touch of the outside: tests hand in their own. */
export interface Terminal {
  /** One line of the answer (stdout). */
  out(line: string): void;
  /** One line beside the answer: progress, errors (stderr). */
  note(line: string): void;
  stdin: Readable;
  /** Where a progress bar may be drawn; null when nobody looks at it (not a terminal). */
  bar: NodeJS.WriteStream | null;
  /** True when `out` and the bar share one screen, so that lines must be written around the bar. */
  sharedScreen: boolean;
  env: Record<string, string | undefined>;
  cwd: string;
  /** Aborted by Ctrl-C. */
  signal: AbortSignal;
}

/** The real terminal. */
export function processTerminal(signal: AbortSignal): Terminal {
  return {
    out: (line) => void process.stdout.write(`${line}\n`),
    note: (line) => void process.stderr.write(`${line}\n`),
    stdin: process.stdin,
    bar: process.stderr.isTTY ? process.stderr : null,
    sharedScreen: Boolean(process.stdout.isTTY),
    env: process.env,
    cwd: process.cwd(),
    signal,
  };
}
