import { createReadStream, type Stats } from 'node:fs';
import { mkdir, readFile, rename, stat, writeFile } from 'node:fs/promises';
import { basename, dirname, join, relative } from 'node:path';
import { classifyError } from '@tallybay/contracts';
import type { Logger } from 'pino';
import { glob } from 'tinyglobby';
import type { LogReceiver } from './log-receiver.js';
import type { SnapshotReceiver } from './snapshot-receiver.js';

/** Rescans this often; a network share gives no reliable change events. */
const SCAN_MS = 2_000;

interface Seen {
  size: number;
  mtimeMs: number;
  outcome: string;
}

/**
 * Takes in what people drop into a folder: a file is read once it has been quiet for a while, and never moved or
 * changed. A journal remembers what was taken, so that a restart does not read everything again.
 */
export class WatchedFolder {
  private timer: NodeJS.Timeout | null = null;
  private running: Promise<void> = Promise.resolve();
  private seen = new Map<string, Seen>();
  private stopping = false;

  constructor(
    private readonly options: { directory: string; quietSeconds: number },
    private readonly home: string,
    private readonly logs: LogReceiver,
    private readonly snapshots: SnapshotReceiver,
    private readonly log: Logger,
    private readonly nowMs: () => number = Date.now,
  ) {}

  start(): void {
    const loop = () => {
      this.running = this.scan()
        .catch((error) => this.log.error({ err: error }, 'the watched folder could not be scanned'))
        .then(() => {
          if (!this.stopping) this.timer = setTimeout(loop, SCAN_MS);
        });
    };
    this.running = this.load().then(loop);
  }

  async stop(): Promise<void> {
    this.stopping = true;
    if (this.timer) clearTimeout(this.timer);
    await this.running;
  }

  /** One pass over the folder. */
  async scan(): Promise<void> {
    const files = await glob('**/*', { cwd: this.options.directory, absolute: true, dot: false, onlyFiles: true });
    for (const file of files.sort()) {
      if (this.stopping) return;
      const stats = await stat(file).catch(() => null);
      if (stats && this.isNew(file, stats)) await this.take(file, stats);
    }
  }

  private isNew(file: string, stats: Stats): boolean {
    const known = this.seen.get(this.nameOf(file));
    if (known && known.size === stats.size && known.mtimeMs === stats.mtimeMs) return false;
    return this.nowMs() - stats.mtimeMs >= this.options.quietSeconds * 1000;
  }

  private async take(file: string, stats: Stats): Promise<void> {
    let outcome: string;
    try {
      const receipt = file.endsWith('.json')
        ? await this.snapshots.receive(await readFile(file), basename(file))
        : await this.logs.receive(createReadStream(file), { fileName: basename(file) });
      outcome = `${receipt.state} ${receipt.id}`;
      this.log.info({ file, uploadId: receipt.id, state: receipt.state }, 'file taken from the watched folder');
    } catch (thrown) {
      const error = classifyError(thrown);
      // What may pass by itself is tried again at the next scan; what the file itself causes is remembered.
      if (error.problem.disposition === 'retry') throw error;
      outcome = `rejected: ${error.message}`;
      this.log.warn({ file, code: error.code, detail: error.message }, 'file in the watched folder cannot be taken');
    }
    this.seen.set(this.nameOf(file), { size: stats.size, mtimeMs: stats.mtimeMs, outcome });
    await this.save();
  }

  private nameOf(file: string): string {
    return relative(this.options.directory, file);
  }

  private get journal(): string {
    return join(this.home, 'watched-folder.json');
  }

  private async load(): Promise<void> {
    try {
      this.seen = new Map(Object.entries(JSON.parse(await readFile(this.journal, 'utf8')) as Record<string, Seen>));
    } catch (error) {
      // Without a journal every file is read again, which is harmless: the same bytes are the same upload.
      if ((error as NodeJS.ErrnoException).code !== 'ENOENT')
        this.log.warn({ err: error }, 'the journal is unreadable');
    }
  }

  private async save(): Promise<void> {
    await mkdir(dirname(this.journal), { recursive: true });
    const fresh = `${this.journal}.new`;
    await writeFile(fresh, JSON.stringify(Object.fromEntries(this.seen), null, 1));
    await rename(fresh, this.journal);
  }
}
