import { link, readdir, readFile, stat, truncate, unlink, utimes, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { errnoOf } from './file-problem.js';
import { livenessOf, type ProcessIdentity, THIS_PROCESS } from './process-identity.js';

/** A holder in another container or under another boot counts as gone when its file was not touched for so long. */
const SILENT_AFTER_MS = 15_000;
const TOUCH_EVERY_MS = 3_000;

let temporaryCount = 0;

/**
 * A lock between processes made of files `<name>.<generation>`; the highest generation decides. Taking it means creating
 * the next generation, which only one process can. Files are never removed on release, only emptied, and lower generations
 * are removed only while a higher one stands; so a process that looked a moment ago and acts late always finds a higher
 * one and steps back. A lock whose holder has died is taken the same way, with no moment in which two can hold it.
 */
export class GenerationLock {
  private generation = 0;
  private touching: NodeJS.Timeout | undefined;

  constructor(
    private readonly directory: string,
    private readonly name: string,
  ) {}

  get held(): boolean {
    return this.generation > 0;
  }

  /** True when this object now holds the lock; false when somebody else does. */
  async tryAcquire(): Promise<boolean> {
    if (this.held) return true;
    const newest = (await this.generations()).at(-1) ?? 0;
    if (newest > 0 && !(await this.isFree(newest))) return false;
    const mine = newest + 1;
    if (!(await this.create(mine))) return false;
    const all = await this.generations();
    if (all.some((generation) => generation > mine)) {
      await this.remove(mine);
      return false;
    }
    this.generation = mine;
    await Promise.all(all.filter((generation) => generation < mine).map((generation) => this.remove(generation)));
    this.touching = setInterval(() => this.touch(), TOUCH_EVERY_MS);
    this.touching.unref();
    return true;
  }

  /** Marks it free by emptying its file, which needs no space on a full disk; when that fails it stays held. */
  async release(): Promise<void> {
    if (!this.held) return;
    await truncate(this.path(this.generation));
    clearInterval(this.touching);
    this.generation = 0;
  }

  /** Who holds it, for messages. */
  async holder(): Promise<ProcessIdentity | undefined> {
    const newest = (await this.generations()).at(-1);
    const content = newest === undefined ? undefined : await this.read(newest);
    return content === 'free' ? undefined : content;
  }

  private path(generation: number): string {
    return join(this.directory, `${this.name}.${generation}`);
  }

  private async generations(): Promise<number[]> {
    const prefix = `${this.name}.`;
    const names = await readdir(this.directory);
    return names
      .filter((name) => name.startsWith(prefix) && /^\d+$/.test(name.slice(prefix.length)))
      .map((name) => Number(name.slice(prefix.length)))
      .sort((a, b) => a - b);
  }

  private async isFree(generation: number): Promise<boolean> {
    const content = await this.read(generation);
    // Gone: a higher one has come meanwhile. Look again at the next attempt.
    if (content === undefined) return false;
    if (content === 'free') return true;
    const liveness = livenessOf(content);
    if (liveness !== 'unknown') return liveness === 'dead';
    const { mtimeMs } = await stat(this.path(generation));
    return Date.now() - mtimeMs > SILENT_AFTER_MS;
  }

  private async read(generation: number): Promise<ProcessIdentity | 'free' | undefined> {
    try {
      const text = await readFile(this.path(generation), 'utf8');
      // Files are linked into place whole, so an empty one was released, or is what a power cut left of it.
      return text === '' ? 'free' : (JSON.parse(text) as ProcessIdentity);
    } catch (error) {
      if (errnoOf(error) === 'ENOENT') return undefined;
      throw error;
    }
  }

  private async create(generation: number): Promise<boolean> {
    const temporary = await this.writeTemporary();
    try {
      await link(temporary, this.path(generation));
      return true;
    } catch (error) {
      if (errnoOf(error) === 'EEXIST') return false;
      throw error;
    } finally {
      await unlink(temporary);
    }
  }

  private async writeTemporary(): Promise<string> {
    const path = join(this.directory, `${this.name}-${process.pid}-${temporaryCount++}-${Date.now()}.new`);
    await writeFile(path, JSON.stringify(THIS_PROCESS));
    return path;
  }

  private async remove(generation: number): Promise<void> {
    await unlink(this.path(generation)).catch((error: unknown) => {
      if (errnoOf(error) !== 'ENOENT') throw error;
    });
  }

  private touch(): void {
    const now = new Date();
    // A failed touch matters only to other containers, which then wait for the next one.
    utimes(this.path(this.generation), now, now).catch(() => {});
  }
}
