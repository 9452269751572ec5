import type { StreamEvent } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';

export type LimitEvent = Extract<StreamEvent, { kind: 'limit_exceeded' }>;

/** SQLite and PostgreSQL both take fewer parameters a statement than this times the columns. */
const ROWS_AT_ONCE = 500;

/**
 * Crossings that are announced or about to be. Put here before the upload counts as stored and marked after the stream has
 * them, so that none is lost in a crash; an upload that is decoded again announces only what it has not announced.
 */
export class LimitEvents {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** What an upload's newest decode found, in order. Older ones that were not sent and that it did not find are dropped. */
  async put(upload: string, events: readonly LimitEvent[]): Promise<void> {
    await inTransaction(this.db, async (transaction) => {
      await transaction
        .deleteFrom('limit_events')
        .where('upload', '=', upload)
        .where('sent_at_ms', 'is', null)
        .execute();
      for (let from = 0; from < events.length; from += ROWS_AT_ONCE)
        await transaction
          .insertInto('limit_events')
          .values(
            events.slice(from, from + ROWS_AT_ONCE).map((event, index) => ({
              ...{ id: event.id, upload, position: from + index, event: JSON.stringify(event), sent_at_ms: null },
            })),
          )
          .onConflict((conflict) => conflict.column('id').doNothing())
          .execute();
    });
  }

  /** Not yet announced, in order. */
  async unsent(upload: string): Promise<LimitEvent[]> {
    const rows = await this.db
      .selectFrom('limit_events')
      .select('event')
      .where('upload', '=', upload)
      .where('sent_at_ms', 'is', null)
      .orderBy('position')
      .execute();
    return rows.map(({ event }) => JSON.parse(event) as LimitEvent);
  }

  async markSent(upload: string): Promise<void> {
    await this.db
      .updateTable('limit_events')
      .set({ sent_at_ms: this.nowMs() })
      .where('upload', '=', upload)
      .where('sent_at_ms', 'is', null)
      .execute();
  }
}
