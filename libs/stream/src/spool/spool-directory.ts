import { mkdir, open, readdir, realpath, unlink } from 'node:fs/promises';
import { join } from 'node:path';
import { TallybayError } from '@tallybay/contracts';
import type { SpoolConfig } from '../config.js';
import { makeDurableDirectory } from './durable-file.js';
import { errnoOf, spoolUnavailable } from './file-problem.js';
import { SpoolGroup } from './group.js';
import { groupsDirectory } from './group-offsets.js';
import { SpoolPartition } from './partition.js';
import { sweepSegments } from './retention.js';

const SWEEP_AFTER_MS = 2_000;

/**
 * Directories open in this process; streams opened on the same one share it, so that it has one appender a partition. The
 * first one's settings for segments, retention, damage and `onProblem` hold for all.
 */
const OPEN = new Map<string, Promise<SpoolDirectory>>();

export class SpoolDirectory {
  private readonly topics = new Map<string, SpoolPartition[]>();
  private readonly groups = new Map<string, SpoolGroup>();
  private users = 0;
  private sweepTimer: NodeJS.Timeout | undefined;
  private sweeping: Promise<number> = Promise.resolve(0);

  private constructor(
    private readonly key: string,
    private readonly config: SpoolConfig,
    private readonly onProblem: (error: unknown) => void,
  ) {}

  /** Opens or joins; each call is paired with one `close`. @throws TallybayError `stream_unavailable` */
  static async open(config: SpoolConfig, onProblem: (error: unknown) => void): Promise<SpoolDirectory> {
    try {
      await mkdir(config.directory, { recursive: true });
      const key = await realpath(config.directory);
      const opening = OPEN.get(key) ?? SpoolDirectory.create(key, config, onProblem);
      OPEN.set(key, opening);
      opening.catch(() => OPEN.delete(key));
      const directory = await opening;
      directory.users++;
      await directory.addTopics(config.topics);
      return directory;
    } catch (error) {
      throw spoolUnavailable('open', config.directory, error);
    }
  }

  private static async create(key: string, config: SpoolConfig, onProblem: (error: unknown) => void) {
    const directory = new SpoolDirectory(key, { ...config, directory: key }, onProblem);
    await makeDurableDirectory(groupsDirectory(key));
    return directory;
  }

  /** @throws TallybayError `parameter_invalid` for a topic that was not configured */
  partitionsOf(topic: string): SpoolPartition[] {
    const partitions = this.topics.get(topic);
    if (partitions) return partitions;
    throw new TallybayError(
      'parameter_invalid',
      `Topic "${topic}" is not one of ${[...this.topics.keys()].join(', ')}`,
      {
        advice: 'Name it in the stream configuration.',
      },
    );
  }

  /** Proves that the directory takes writes, and brings every partition to a clean, synced end. */
  async prepare(): Promise<void> {
    const probe = join(this.key, `.probe-${process.pid}`);
    try {
      const handle = await open(probe, 'w');
      await handle.writeFile('probe');
      await handle.sync();
      await handle.close();
      await unlink(probe);
    } catch (error) {
      throw spoolUnavailable('write to', this.key, error);
    }
    await Promise.all(this.allPartitions().map((partition) => partition.appender.recover()));
    await this.sweep();
  }

  group(name: string): SpoolGroup {
    const known = this.groups.get(name);
    if (known) return known;
    if (!/^[a-zA-Z0-9][a-zA-Z0-9._-]*$/.test(name)) {
      throw new TallybayError('parameter_invalid', `Group name "${name}" may hold only letters, digits, ".", "_", "-"`);
    }
    const group = new SpoolGroup(name, {
      root: this.key,
      partitionsOf: (topic) => this.partitionsOf(topic),
      onCommitted: () => this.sweepSoon(),
      onProblem: this.onProblem,
    });
    this.groups.set(name, group);
    return group;
  }

  /** Deletes what nobody needs any more. Returns the number of segments deleted. */
  sweep(): Promise<number> {
    this.sweeping = this.sweeping.catch(() => 0).then(() => sweepSegments(this.allPartitions(), this.config));
    return this.sweeping;
  }

  async close(): Promise<void> {
    if (--this.users > 0) return;
    OPEN.delete(this.key);
    clearTimeout(this.sweepTimer);
    await this.sweeping.catch(() => 0);
    await Promise.all(this.allPartitions().map((partition) => partition.close()));
  }

  private allPartitions(): SpoolPartition[] {
    return [...this.topics.values()].flat();
  }

  private async addTopics(topics: string[]): Promise<void> {
    for (const topic of topics) {
      if (this.topics.has(topic)) continue;
      const count = Math.max(this.config.partitions, await this.partitionsOnDisk(topic));
      const places = Array.from({ length: count }, (_, partition) => ({ topic, partition }));
      const opened = await Promise.all(places.map((place) => SpoolPartition.open(place, this.config, this.onProblem)));
      if (!this.topics.has(topic)) this.topics.set(topic, opened);
    }
  }

  private async partitionsOnDisk(topic: string): Promise<number> {
    try {
      const names = await readdir(join(this.key, 'topics', topic));
      return names.filter((name) => /^\d{3}$/.test(name)).length;
    } catch (error) {
      if (errnoOf(error) === 'ENOENT') return 0;
      throw error;
    }
  }

  private sweepSoon(): void {
    if (this.sweepTimer) return;
    this.sweepTimer = setTimeout(() => {
      this.sweepTimer = undefined;
      this.sweep().catch(this.onProblem);
    }, SWEEP_AFTER_MS);
    this.sweepTimer.unref();
  }
}
