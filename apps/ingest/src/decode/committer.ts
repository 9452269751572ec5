import type { DecodeParts } from './decode-parts.js';
import type { Lane } from './lane.js';
import { persist } from './patience.js';

/** Commits how far a lane has come; calls made while one is under way share the next. */
export class Committer {
  constructor(private readonly parts: Pick<DecodeParts, 'consumer' | 'settlement' | 'log'>) {}

  /** @throws Abandoned when the partition is being given up and the stream does not answer */
  commit(lane: Lane): Promise<void> {
    lane.commitAgain = true;
    lane.committing ??= this.run(lane).finally(() => {
      lane.committing = null;
    });
    return lane.committing;
  }

  private async run(lane: Lane): Promise<void> {
    while (lane.commitAgain) {
      lane.commitAgain = false;
      await this.once(lane);
    }
  }

  private async once(lane: Lane): Promise<void> {
    const next = lane.tracker.committable;
    if (next === null || lane.revoked || next === lane.committed) return;
    const { consumer, settlement, log } = this.parts;
    try {
      await persist(() => consumer.commit(lane.assignment, next), settlement.patience('stream', lane.signal));
      lane.committed = next;
    } catch (error) {
      if ((error as { code?: string }).code !== 'partition_lost') throw error;
      // Another member has it: what is open here is delivered again there, and stores the same files.
      log.info({ ...lane.assignment }, 'the partition has gone to another worker');
      lane.revoked = true;
      lane.close();
    }
  }
}
