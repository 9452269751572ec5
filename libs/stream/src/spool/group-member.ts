import type { Assignment, ConsumerHandlers } from '../port.js';
import type { PartitionReader } from './reader.js';

/** How long a member that gives a partition up may keep an `onMessages` call unanswered before it is left behind. */
const SETTLE_MS = 5_000;

export interface DeliveryLimits {
  deliveryBytes: number;
  deliveryMessages: number;
}

/** What a delivery loop needs of a partition. */
export interface DeliverySource {
  reader(from: bigint): PartitionReader;
  waitForNews(): Promise<void>;
  wake(): void;
}

/** Delivers one partition to one member: one call at a time, the next only when the last has resolved. */
class Delivery {
  private stopped = false;
  readonly ended: Promise<void>;

  constructor(
    readonly assignment: Assignment,
    private readonly source: DeliverySource,
    private readonly member: GroupMember,
    from: bigint,
  ) {
    this.ended = this.run(source.reader(from));
  }

  stop(): void {
    this.stopped = true;
    this.source.wake();
  }

  private async run(reader: PartitionReader): Promise<void> {
    const { handlers, limits } = this.member;
    try {
      while (!this.stopped) {
        const messages = await reader.read(limits.deliveryBytes, limits.deliveryMessages);
        if (this.stopped) break;
        if (messages.length > 0) await handlers.onMessages(messages, this.assignment);
        else await this.source.waitForNews();
      }
    } catch (error) {
      if (!this.stopped) this.member.fail(error);
    } finally {
      await reader.close();
    }
  }
}

/** One consumer of a group in this process, and the partitions that it has now. */
export class GroupMember {
  private readonly deliveries = new Map<string, Delivery>();
  private failure: { error: unknown } | undefined;

  constructor(
    readonly topics: string[],
    readonly handlers: ConsumerHandlers,
    readonly limits: DeliveryLimits,
    /** Called once when the member can go on no longer. */
    private readonly onFailed: (error: unknown) => void,
  ) {}

  get assignments(): Assignment[] {
    return [...this.deliveries.values()].map((delivery) => delivery.assignment);
  }

  has(assignment: Assignment): boolean {
    return this.deliveries.has(keyOfAssignment(assignment));
  }

  start(assignment: Assignment, source: DeliverySource, from: bigint): void {
    this.deliveries.set(keyOfAssignment(assignment), new Delivery(assignment, source, this, from));
  }

  /**
   * Stops delivery, lets the owner finish or drop what is open (commits still count meanwhile), then gives up the
   * partitions. `onRevoked` runs while an `onMessages` call may still be held, since finishing may be what releases it.
   */
  async revoke(assignments: Assignment[]): Promise<void> {
    const leaving = assignments.map((assignment) => this.deliveries.get(keyOfAssignment(assignment))!);
    if (leaving.length === 0) return;
    for (const delivery of leaving) delivery.stop();
    try {
      await this.handlers.onRevoked?.(assignments);
    } catch (error) {
      this.fail(error);
    }
    for (const assignment of assignments) this.deliveries.delete(keyOfAssignment(assignment));
    await settleWithin(
      leaving.map((delivery) => delivery.ended),
      SETTLE_MS,
    );
  }

  fail(error: unknown): void {
    if (this.failure) return;
    this.failure = { error };
    for (const delivery of this.deliveries.values()) delivery.stop();
    this.onFailed(error);
  }
}

export function keyOfAssignment({ topic, partition }: Assignment): string {
  return `${topic}/${partition}`;
}

async function settleWithin(promises: Promise<unknown>[], limitMs: number): Promise<void> {
  let timer: NodeJS.Timeout | undefined;
  const limit = new Promise<void>((resolve) => {
    timer = setTimeout(resolve, limitMs);
  });
  await Promise.race([Promise.allSettled(promises), limit]);
  clearTimeout(timer);
}
