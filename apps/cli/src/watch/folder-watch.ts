import { watch as watchFolder } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import type { LogParameters } from '@tallybay/contracts';
import type { Terminal } from '../terminal.js';
import { type FoundFile, listFolder } from '../upload/collect.js';
import type { Journal } from '../upload/journal.js';
import { labelOf } from '../upload/upload.command.js';
import { resultLine } from '../upload/upload-screen.js';
import type { Uploader } from '../upload/uploader.js';
import { findQuiet, type Sighting } from './quiet.js';

export interface FolderWatchOptions {
  directory: string;
  parameters: LogParameters;
  quietMs: number;
  rescanMs: number;
  journal: Journal;
  uploader: Uploader;
  terminal: Terminal;
}

/** Looks through a folder again and again, and sends each file once it has kept still. */
export class FolderWatch {
  private sightings: ReadonlyMap<string, Sighting> = new Map();
  /** Sent, refused or skipped in this run, by path and state: not offered again until the file changes. */
  private readonly settled = new Map<string, string>();
  private wake: AbortController = new AbortController();

  constructor(private readonly options: FolderWatchOptions) {}

  /** Resolves when the terminal's signal aborts. */
  async run(): Promise<void> {
    const { signal } = this.options.terminal;
    const events = this.listen(signal);
    while (!signal.aborted) {
      const pending = await this.pass();
      // While a file is being written, look again when it could have become quiet; else wait for an event.
      await this.rest(pending ? Math.min(this.options.quietMs, this.options.rescanMs) : this.options.rescanMs, signal);
    }
    events?.close();
  }

  /** One look through the folder. @returns whether files are there that are not quiet yet or could not be delivered */
  async pass(nowMs = Date.now()): Promise<boolean> {
    const { directory, quietMs, terminal, uploader, parameters } = this.options;
    const open = (await listFolder(directory)).filter((file) => !this.isSettled(file));
    const { quiet, sightings } = findQuiet(this.sightings, open, nowMs, quietMs);
    this.sightings = sightings;
    const items = quiet.map((file) => ({ file, label: labelOf(file, directory), parameters }));
    const results = await uploader.upload(items, {
      advanced: () => undefined,
      retrying: (item, error) => terminal.note(`${item.label}: ${error.message}; trying again`),
      finished: (result) => terminal.out(resultLine(result)),
    });
    for (const { item, outcome } of results)
      if (outcome !== 'failed') this.settled.set(item.file.path, stateOf(item.file));
    return open.length > results.filter((result) => result.outcome !== 'failed').length;
  }

  private isSettled(file: FoundFile): boolean {
    return this.settled.get(file.path) === stateOf(file) || this.options.journal.find(file) !== null;
  }

  /** Events make it quick; the regular look makes it certain (network folders send none). */
  private listen(signal: AbortSignal): ReturnType<typeof watchFolder> | null {
    try {
      const events = watchFolder(this.options.directory, { recursive: true, signal }, () => this.wake.abort());
      events.on('error', () => events.close());
      return events;
    } catch {
      this.options.terminal.note('This folder reports no changes; looking through it regularly instead.');
      return null;
    }
  }

  private async rest(ms: number, signal: AbortSignal): Promise<void> {
    this.wake = new AbortController();
    await wait(ms, undefined, { signal: AbortSignal.any([signal, this.wake.signal]) }).catch(() => undefined);
    // Events come in swarms while a file is copied: one look a second is enough.
    if (!signal.aborted) await wait(Math.min(1000, ms), undefined, { signal }).catch(() => undefined);
  }
}

const stateOf = (file: FoundFile): string => `${file.size}:${file.mtimeMs}`;
