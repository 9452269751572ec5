import type { Terminal } from './terminal.js';

/** One run of the program: where it talks to, and how it will end. */
export class Session {
  /** The highest code that anything in this run asked for. */
  exitCode = 0;
  /** The verb runs until it is stopped: then Ctrl-C is its normal end. */
  endsOnStop = false;

  constructor(readonly terminal: Terminal) {}

  worsen(exitCode: number): void {
    this.exitCode = Math.max(this.exitCode, exitCode);
  }
}
