import { TallybayError } from '@tallybay/contracts';
import { newestLast } from '../browse-order.js';
import { MAX_MESSAGE_BYTES, type SpoolConfig } from '../config.js';
import { partitionOf } from '../partition-of.js';
import type {
  Assignment,
  ConsumerHandlers,
  ReceivedMessage,
  Stream,
  StreamConsumer,
  StreamMessage,
  StreamProducer,
} from '../port.js';
import { streamClosed } from '../stream-closed.js';
import { type EncodedBody, encodeBody } from './frame.js';
import type { SpoolGroup } from './group.js';
import { GroupMember } from './group-member.js';
import { SpoolDirectory } from './spool-directory.js';

/** The embedded durable spool behind the port. @throws TallybayError `stream_unavailable` */
export async function openSpool(config: SpoolConfig, onProblem: (error: unknown) => void): Promise<Stream> {
  return new SpoolStream(await SpoolDirectory.open(config, onProblem), config);
}

class SpoolStream implements Stream {
  private closed = false;
  private readonly parts = new Set<{ close(): Promise<void> }>();

  constructor(
    private readonly directory: SpoolDirectory,
    private readonly config: SpoolConfig,
  ) {}

  async prepare(): Promise<void> {
    await this.directory.prepare();
  }

  async producer(): Promise<StreamProducer> {
    this.assertOpen();
    return this.track(new SpoolProducer(this.directory));
  }

  async consumer(group: string, topics: string[]): Promise<StreamConsumer> {
    this.assertOpen();
    for (const topic of topics) this.directory.partitionsOf(topic);
    return this.track(new SpoolConsumer(this.directory.group(group), topics, this.config));
  }

  async browse(topic: string, limit: number): Promise<ReceivedMessage[]> {
    this.assertOpen();
    const perPartition = await Promise.all(
      this.directory.partitionsOf(topic).map(async (partition) => {
        const end = (await partition.durableEnd())?.nextOffset ?? 0n;
        const reader = partition.reader(end > BigInt(limit) ? end - BigInt(limit) : 0n, 'skip');
        try {
          const messages: ReceivedMessage[] = [];
          for (;;) {
            const next = await reader.read(this.config.deliveryBytes, limit);
            if (next.length === 0) return messages.slice(-limit);
            messages.push(...next);
          }
        } finally {
          await reader.close();
        }
      }),
    );
    return newestLast(perPartition.flat(), limit);
  }

  async close(): Promise<void> {
    if (this.closed) return;
    this.closed = true;
    await Promise.all([...this.parts].map((part) => part.close()));
    await this.directory.close();
  }

  private track<T extends { close(): Promise<void> }>(part: T): T {
    this.parts.add(part);
    return part;
  }

  private assertOpen(): void {
    if (this.closed) throw streamClosed('The stream');
  }
}

class SpoolProducer implements StreamProducer {
  private closed = false;
  private readonly inFlight = new Set<Promise<unknown>>();

  constructor(private readonly directory: SpoolDirectory) {}

  async send(topic: string, messages: StreamMessage[]): Promise<void> {
    if (this.closed) throw streamClosed('The producer');
    const partitions = this.directory.partitionsOf(topic);
    const byPartition = new Map<number, EncodedBody[]>();
    for (const message of messages) {
      const partition = partitionOf(message.key, partitions.length);
      const bodies = byPartition.get(partition) ?? [];
      bodies.push(encodeWithinLimit(message));
      byPartition.set(partition, bodies);
    }
    const appended = [...byPartition].map(([partition, bodies]) => partitions[partition]!.appender.append(bodies));
    const all = Promise.allSettled(appended);
    this.inFlight.add(all);
    const failed = (await all).find((result) => result.status === 'rejected');
    this.inFlight.delete(all);
    if (failed) throw failed.reason;
  }

  async close(): Promise<void> {
    this.closed = true;
    await Promise.all(this.inFlight);
  }
}

function encodeWithinLimit(message: StreamMessage): EncodedBody {
  const body = encodeBody(message);
  if (body.bytes <= MAX_MESSAGE_BYTES) return body;
  throw new TallybayError(
    'body_too_large',
    `A message of ${body.bytes} bytes for key "${message.key}" is over the limit of ${MAX_MESSAGE_BYTES}`,
    { advice: 'Cut it into smaller messages.' },
  );
}

class SpoolConsumer implements StreamConsumer {
  private member: GroupMember | undefined;
  private handlers: ConsumerHandlers | undefined;
  private ending: Promise<void> | undefined;

  constructor(
    private readonly group: SpoolGroup,
    private readonly topics: string[],
    private readonly config: SpoolConfig,
  ) {}

  async run(handlers: ConsumerHandlers): Promise<void> {
    if (this.ending || this.member) throw streamClosed('This consumer runs already or');
    this.handlers = handlers;
    this.member = new GroupMember(this.topics, handlers, this.config, (error) => {
      this.ending ??= this.end(error);
    });
    await this.group.join(this.member);
  }

  async commit(assignment: Assignment, nextOffset: bigint): Promise<void> {
    await this.group.commit(this.member, assignment, nextOffset);
  }

  lag() {
    return this.group.lag(this.topics);
  }

  close(): Promise<void> {
    this.ending ??= this.end(undefined);
    return this.ending;
  }

  /** Never rejects: it may be started by a failure that nobody awaits. */
  private async end(error: unknown): Promise<void> {
    let reason = error;
    try {
      if (this.member) await this.group.leave(this.member);
    } catch (leaveError) {
      reason ??= leaveError;
    }
    this.handlers?.onStopped?.(reason);
  }
}
