import { TallybayError } from '@tallybay/contracts';
import type { Assignment } from '../port.js';
import { makeDurableDirectory } from './durable-file.js';
import { GenerationLock } from './generation-lock.js';
import { type GroupMember, keyOfAssignment } from './group-member.js';
import { GroupOffsets, groupsDirectory } from './group-offsets.js';
import type { SpoolPartition } from './partition.js';

const STANDBY_RETRY_MS = 250;

/** What a group needs of the directory it lives in. */
export interface GroupHome {
  root: string;
  partitionsOf(topic: string): SpoolPartition[];
  onCommitted(): void;
  onProblem(error: unknown): void;
}

/**
 * The members of one group in this process. One process at a time reads for a group: it holds the group's lock; members
 * in another process stand by without partitions and take over when the lock becomes free or its holder has died.
 */
export class SpoolGroup {
  private readonly members = new Set<GroupMember>();
  private readonly lock: GenerationLock;
  private offsets: GroupOffsets | undefined;
  private standby: NodeJS.Timeout | undefined;
  /** Joins, leaves and hand-overs happen one after the other. */
  private changes: Promise<void> = Promise.resolve();

  constructor(
    readonly name: string,
    private readonly home: GroupHome,
  ) {
    this.lock = new GenerationLock(groupsDirectory(home.root), `${name}.lock`);
  }

  join(member: GroupMember): Promise<void> {
    return this.change(async () => {
      this.members.add(member);
      await this.rebalance();
    });
  }

  /** Hands the member's partitions over to the others; the last one to leave gives the group to other processes. */
  leave(member: GroupMember): Promise<void> {
    return this.change(async () => {
      if (!this.members.delete(member)) return;
      await member.revoke(member.assignments);
      await this.rebalance();
    });
  }

  /** @throws TallybayError `partition_lost`, `parameter_invalid` (beyond the end), `stream_unavailable` */
  async commit(member: GroupMember | undefined, assignment: Assignment, nextOffset: bigint): Promise<void> {
    const place = `${assignment.topic}, partition ${assignment.partition}`;
    if (!member?.has(assignment) || !this.offsets) {
      throw new TallybayError('partition_lost', `Group ${this.name}: ${place} is not assigned to this member`, {
        advice: 'Drop what is open for it: the member that has it now gets the same messages again.',
      });
    }
    const end = (await this.partition(assignment)?.durableEnd())?.nextOffset ?? 0n;
    if (nextOffset > end) {
      throw new TallybayError('parameter_invalid', `Cannot commit ${nextOffset} in ${place}: its end is ${end}`);
    }
    await this.offsets.commit(assignment.topic, assignment.partition, nextOffset);
    this.home.onCommitted();
  }

  /** Committed and end offsets, read from disk where another process has the group. */
  async lag(topics: string[]) {
    const offsets = this.offsets ?? (await GroupOffsets.load(this.home.root, this.name));
    const partitions = topics.flatMap((topic) => this.home.partitionsOf(topic));
    return await Promise.all(
      partitions.map(async (partition) => ({
        topic: partition.topic,
        partition: partition.partition,
        committed: offsets.committed(partition.topic, partition.partition) ?? (await partition.oldestOffset()),
        end: (await partition.durableEnd())?.nextOffset ?? 0n,
      })),
    );
  }

  private change(work: () => Promise<void>): Promise<void> {
    const done = this.changes.then(work);
    this.changes = done.catch(() => {});
    return done;
  }

  private async rebalance(): Promise<void> {
    if (this.members.size === 0) return await this.giveUp();
    if (!(await this.takeLock())) return;
    const offsets = (this.offsets ??= await GroupOffsets.load(this.home.root, this.name));
    await offsets.addTopics([...new Set([...this.members].flatMap((member) => member.topics))]);
    const targets = this.targets();
    await Promise.all(
      [...this.members].map((member) => {
        const stays = new Set(targets.get(member)!.map(keyOfAssignment));
        return member.revoke(member.assignments.filter((assignment) => !stays.has(keyOfAssignment(assignment))));
      }),
    );
    for (const [member, assignments] of targets) {
      for (const assignment of assignments) await this.startDelivery(member, assignment, offsets);
    }
  }

  private async startDelivery(member: GroupMember, assignment: Assignment, offsets: GroupOffsets): Promise<void> {
    if (member.has(assignment)) return;
    const partition = this.partition(assignment)!;
    const from = offsets.committed(assignment.topic, assignment.partition) ?? (await partition.oldestOffset());
    member.start(assignment, partition, from);
  }

  /** Round robin over the members of a topic in the order in which they joined. */
  private targets(): Map<GroupMember, Assignment[]> {
    const members = [...this.members];
    const targets = new Map(members.map((member) => [member, [] as Assignment[]]));
    for (const topic of new Set(members.flatMap((member) => member.topics))) {
      const readers = members.filter((member) => member.topics.includes(topic));
      for (const { partition } of this.home.partitionsOf(topic)) {
        targets.get(readers[partition % readers.length]!)!.push({ topic, partition });
      }
    }
    return targets;
  }

  private partition({ topic, partition }: Assignment): SpoolPartition | undefined {
    return this.home.partitionsOf(topic)[partition];
  }

  private async takeLock(): Promise<boolean> {
    await makeDurableDirectory(groupsDirectory(this.home.root));
    if (await this.lock.tryAcquire()) return true;
    clearTimeout(this.standby);
    this.standby = setTimeout(() => {
      this.change(() => this.rebalance()).catch(this.home.onProblem);
    }, STANDBY_RETRY_MS);
    return false;
  }

  private async giveUp(): Promise<void> {
    clearTimeout(this.standby);
    this.offsets = undefined;
    await this.lock.release();
  }
}
