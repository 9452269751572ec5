import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { crc32 } from 'node:zlib';
import { TallybayError } from '@tallybay/contracts';
import { z } from 'zod';
import { replaceDurably } from './durable-file.js';
import { errnoOf, spoolUnavailable } from './file-problem.js';

const fileSchema = z.object({
  version: z.literal(1),
  /** Topics that the group reads; their segments are kept for it even before its first commit. */
  topics: z.array(z.string()),
  /** Next offset by `topic/partition`, in decimal. */
  offsets: z.record(z.string(), z.string().regex(/^\d+$/)),
});
type Content = z.infer<typeof fileSchema>;

export function groupsDirectory(root: string): string {
  return join(root, 'groups');
}

const SUFFIX = '.offsets.json';

export function groupOfFile(name: string): string | undefined {
  return name.endsWith(SUFFIX) ? name.slice(0, -SUFFIX.length) : undefined;
}

function keyOf(topic: string, partition: number): string {
  return `${topic}/${partition}`;
}

/** What a group has committed; one file, replaced as a whole. Commits made while one is being written share the next. */
export class GroupOffsets {
  private saved: Promise<void> | undefined;
  private waiting: Promise<void> | undefined;

  private constructor(
    private readonly path: string,
    private readonly content: Content,
  ) {}

  /** @throws TallybayError `stream_corrupt` when the file does not match its checksum */
  static async load(root: string, group: string): Promise<GroupOffsets> {
    const path = join(groupsDirectory(root), group + SUFFIX);
    return new GroupOffsets(path, await readContent(path));
  }

  get topics(): readonly string[] {
    return this.content.topics;
  }

  committed(topic: string, partition: number): bigint | undefined {
    const text = this.content.offsets[keyOf(topic, partition)];
    return text === undefined ? undefined : BigInt(text);
  }

  async addTopics(topics: string[]): Promise<void> {
    const missing = topics.filter((topic) => !this.content.topics.includes(topic));
    if (missing.length === 0) return;
    this.content.topics.push(...missing);
    await this.save();
  }

  /** Resolves when it is on disk. An offset below the committed one changes nothing. */
  async commit(topic: string, partition: number, nextOffset: bigint): Promise<void> {
    if ((this.committed(topic, partition) ?? 0n) < nextOffset) {
      this.content.offsets[keyOf(topic, partition)] = nextOffset.toString();
    }
    await this.save();
  }

  private save(): Promise<void> {
    this.waiting ??= this.saveNext();
    return this.waiting;
  }

  private async saveNext(): Promise<void> {
    await this.saved?.catch(() => {});
    this.saved = this.waiting;
    this.waiting = undefined;
    const body = JSON.stringify(this.content);
    try {
      await replaceDurably(this.path, `${crc32(body).toString(16).padStart(8, '0')}\n${body}\n`);
    } catch (error) {
      throw spoolUnavailable('write committed offsets to', this.path, error);
    }
  }
}

async function readContent(path: string): Promise<Content> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    if (errnoOf(error) === 'ENOENT') return { version: 1, topics: [], offsets: {} };
    throw spoolUnavailable('read committed offsets from', path, error);
  }
  const [crc = '', body = ''] = text.split('\n');
  if (Number.parseInt(crc, 16) !== crc32(body)) {
    throw new TallybayError('stream_corrupt', `The committed offsets in ${path} do not match their checksum`, {
      advice:
        'Remove the file: everything still kept is then delivered again, which the lake takes without duplicates.',
      place: { file: path },
    });
  }
  return fileSchema.parse(JSON.parse(body));
}
