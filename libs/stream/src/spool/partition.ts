import { type FSWatcher, watch } from 'node:fs';
import { join } from 'node:path';
import type { SpoolConfig } from '../config.js';
import { Appender } from './appender.js';
import { DURABLE_END_FILE, type DurableEnd, readDurableEnd } from './durable-end.js';
import { makeDurableDirectory } from './durable-file.js';
import { oldestOffset, PartitionReader } from './reader.js';

/** A notice from another process may be lost (fs.watch promises nothing); then this is how long it takes. */
const POLL_EVERY_MS = 200;

/** One partition as this process sees it: the only appender, any number of readers, and who waits for news. */
export class SpoolPartition {
  readonly directory: string;
  readonly appender: Appender;
  private readonly waiting = new Set<() => void>();
  private watcher: FSWatcher | undefined;

  private constructor(
    readonly topic: string,
    readonly partition: number,
    private readonly config: SpoolConfig,
    private readonly onProblem: (error: unknown) => void,
  ) {
    this.directory = partitionDirectory(config.directory, topic, partition);
    this.appender = new Appender(this.directory, {
      segmentBytes: config.segmentBytes,
      onAdvanced: () => this.wake(),
      onProblem,
    });
  }

  static async open(
    place: { topic: string; partition: number },
    config: SpoolConfig,
    onProblem: (error: unknown) => void,
  ): Promise<SpoolPartition> {
    const opened = new SpoolPartition(place.topic, place.partition, config, onProblem);
    await makeDurableDirectory(opened.directory);
    return opened;
  }

  /** Read from the file each time, since another process may be the writer. */
  durableEnd(): Promise<DurableEnd | undefined> {
    return readDurableEnd(this.directory);
  }

  oldestOffset(): Promise<bigint> {
    return oldestOffset(this.directory);
  }

  reader(from: bigint, onCorrupt = this.config.onCorrupt): PartitionReader {
    const { directory, topic, partition, onProblem } = this;
    return new PartitionReader(
      { directory, topic, partition, onCorrupt, onProblem, durableEnd: () => this.durableEnd() },
      from,
    );
  }

  /** Resolves at the next append by this process, at a notice of one by another, or after the polling interval. */
  async waitForNews(): Promise<void> {
    this.watcher ??= this.startWatching();
    await new Promise<void>((resolve) => {
      const done = () => {
        clearTimeout(timer);
        this.waiting.delete(done);
        resolve();
      };
      const timer = setTimeout(done, POLL_EVERY_MS);
      this.waiting.add(done);
    });
  }

  wake(): void {
    for (const done of [...this.waiting]) done();
  }

  async close(): Promise<void> {
    this.watcher?.close();
    this.wake();
    await this.appender.close();
  }

  private startWatching(): FSWatcher | undefined {
    try {
      const watcher = watch(join(this.directory, DURABLE_END_FILE), () => this.wake());
      watcher.on('error', () => watcher.close());
      return watcher.unref();
    } catch {
      // Not there yet, or no more watches to be had: polling alone is correct, only later. Tried again at the next wait.
      return undefined;
    }
  }
}

export function partitionDirectory(root: string, topic: string, partition: number): string {
  return join(root, 'topics', topic, partition.toString().padStart(3, '0'));
}
