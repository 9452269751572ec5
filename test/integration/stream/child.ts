import { type ChildProcess, spawn } from 'node:child_process';
import { join } from 'node:path';
import { eventually } from './message-log.js';

/** A child process of the tests that prints lines. */
export class Child {
  readonly lines: string[] = [];
  private rest = '';
  private errors = '';
  private readonly process: ChildProcess;
  private readonly exited: Promise<unknown>;

  constructor(script: string, args: string[]) {
    const path = join(import.meta.dirname, 'children', script);
    this.process = spawn(process.execPath, [path, ...args], { stdio: ['pipe', 'pipe', 'pipe'] });
    this.process.stdout!.setEncoding('utf8').on('data', (text: string) => {
      const parts = (this.rest + text).split('\n');
      // A line that a kill has cut says nothing.
      this.rest = parts.pop()!;
      this.lines.push(...parts);
    });
    this.process.stderr!.setEncoding('utf8').on('data', (text: string) => {
      this.errors += text;
    });
    this.exited = new Promise((resolve) => this.process.once('close', resolve));
  }

  async until(what: string, check: (lines: string[]) => boolean): Promise<void> {
    await eventually(what, () => {
      if (this.process.exitCode) throw new Error(`The child ended with ${this.process.exitCode}:\n${this.errors}`);
      return check(this.lines);
    });
  }

  async kill(): Promise<void> {
    this.process.kill('SIGKILL');
    await this.exited;
  }

  async end(): Promise<void> {
    this.process.stdin!.end();
    await this.exited;
  }
}
