import type { RegistryDatabase, RegistryTables } from './schema.js';

export interface Notice {
  /** Says what it is about: the same subject is told of once. */
  id: string;
  kind: string;
  vehicle: string | null;
  words: string;
  link: string | null;
  atMs: number;
  mailedAtMs: number | null;
  calledAtMs: number | null;
  seenAtMs: number | null;
  seenBy: string | null;
}

export type NewNotice = Pick<Notice, 'id' | 'kind' | 'vehicle' | 'words' | 'link'>;
export type NoticeWay = 'mail' | 'webhook';
const COLUMN = { mail: 'mailed_at_ms', webhook: 'called_at_ms' } as const;

/** What there is to tell people, and what has been told which way. */
export class Notices {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** Adds those that were not known yet. @returns how many were new */
  async add(notices: readonly NewNotice[]): Promise<number> {
    let added = 0;
    for (const notice of notices) {
      const row = {
        ...notice,
        at_ms: this.nowMs(),
        mailed_at_ms: null,
        called_at_ms: null,
        seen_at_ms: null,
        seen_by: null,
      };
      const { numInsertedOrUpdatedRows } = await this.db
        .insertInto('notices')
        .values(row)
        .onConflict((conflict) => conflict.column('id').doNothing())
        .executeTakeFirstOrThrow();
      added += Number(numInsertedOrUpdatedRows ?? 0n);
    }
    return added;
  }

  /** Newest first. */
  async list(options: { unseen?: boolean; limit?: number } = {}): Promise<Notice[]> {
    let query = this.db.selectFrom('notices').selectAll().orderBy('at_ms', 'desc').orderBy('id');
    if (options.unseen) query = query.where('seen_at_ms', 'is', null);
    return (await query.limit(options.limit ?? 200).execute()).map(noticeFromRow);
  }

  /** Not told this way yet, oldest first. */
  async untold(way: NoticeWay): Promise<Notice[]> {
    const query = this.db.selectFrom('notices').selectAll().where(COLUMN[way], 'is', null);
    return (await query.orderBy('at_ms').orderBy('id').limit(500).execute()).map(noticeFromRow);
  }

  async told(way: NoticeWay, ids: readonly string[]): Promise<void> {
    if (ids.length === 0) return;
    await this.db
      .updateTable('notices')
      .set({ [COLUMN[way]]: this.nowMs() })
      .where('id', 'in', ids)
      .execute();
  }

  /** @returns how many had not been seen */
  async seen(ids: readonly string[], by: string | null): Promise<number> {
    if (ids.length === 0) return 0;
    const { numUpdatedRows } = await this.db
      .updateTable('notices')
      .set({ seen_at_ms: this.nowMs(), seen_by: by })
      .where('id', 'in', ids)
      .where('seen_at_ms', 'is', null)
      .executeTakeFirstOrThrow();
    return Number(numUpdatedRows);
  }
}

const noticeFromRow = (row: RegistryTables['notices']): Notice => ({
  ...{ id: row.id, kind: row.kind, vehicle: row.vehicle, words: row.words, link: row.link, atMs: row.at_ms },
  ...{ mailedAtMs: row.mailed_at_ms, calledAtMs: row.called_at_ms, seenAtMs: row.seen_at_ms, seenBy: row.seen_by },
});
