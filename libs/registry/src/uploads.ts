import type { UploadState } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import {
  columnsFromNew,
  columnsFromPatch,
  type NewUpload,
  rowFromColumns,
  type UploadPatch,
  type UploadRow,
} from './upload-row.js';

export interface UploadFilter {
  state?: UploadState;
  vehicle?: string;
  kind?: UploadRow['kind'];
  /** Only those that hold data of this span: begin before `toMs` and end at or after `fromMs`. */
  span?: { fromMs: number; toMs: number };
  limit: number;
  /** Id of the last upload of the page before; the list goes on after it. */
  before?: string;
}

/** Uploads and how far each has come. */
export class Uploads {
  constructor(private readonly db: RegistryDatabase) {}

  /**
   * Content that is already known (same id, or same kind and sha256) is left as it is and given back, also when two
   * processes insert it at the same moment.
   */
  async insertIfAbsent(upload: NewUpload): Promise<{ inserted: boolean; row: UploadRow }> {
    const added = await this.db
      .insertInto('uploads')
      .values(columnsFromNew(upload))
      .onConflict((conflict) => conflict.doNothing())
      .returningAll()
      .executeTakeFirst();
    if (added) return { inserted: true, row: rowFromColumns(added) };
    const known = await this.db
      .selectFrom('uploads')
      .selectAll()
      .where((where) =>
        where.or([
          where('id', '=', upload.id),
          where.and([where('kind', '=', upload.kind), where('sha256', '=', upload.sha256)]),
        ]),
      )
      .executeTakeFirstOrThrow();
    return { inserted: false, row: rowFromColumns(known) };
  }

  async get(id: string): Promise<UploadRow | null> {
    const columns = await this.db.selectFrom('uploads').selectAll().where('id', '=', id).executeTakeFirst();
    return columns ? rowFromColumns(columns) : null;
  }

  /** One single-row UPDATE of what the patch names. @returns false when there is no such upload */
  async update(id: string, patch: UploadPatch): Promise<boolean> {
    const columns = columnsFromPatch(patch);
    if (Object.keys(columns).length === 0) return (await this.get(id)) !== null;
    const { numUpdatedRows } = await this.db
      .updateTable('uploads')
      .set(columns)
      .where('id', '=', id)
      .executeTakeFirstOrThrow();
    return numUpdatedRows > 0n;
  }

  /** Many small patches under one commit, for workers that report progress of several uploads at once. */
  async updateMany(patches: ReadonlyMap<string, UploadPatch>): Promise<void> {
    await inTransaction(this.db, async (transaction) => {
      const uploads = new Uploads(transaction);
      for (const [id, patch] of patches) await uploads.update(id, patch);
    });
  }

  /** Atomic: only one of several callers gets `true`. `patch` is applied with the new state, or not at all. */
  async transition(id: string, from: UploadState[], to: UploadState, patch: UploadPatch = {}): Promise<boolean> {
    if (from.length === 0) return false;
    const { numUpdatedRows } = await this.db
      .updateTable('uploads')
      .set({ ...columnsFromPatch(patch), state: to })
      .where('id', '=', id)
      .where('state', 'in', from)
      .executeTakeFirstOrThrow();
    return numUpdatedRows > 0n;
  }

  /**
   * As `transition`, but only while `attempt` is still the newest: what an older decode finds out must not overwrite
   * what a newer one says.
   */
  async transitionOf(
    upload: { id: string; attempt: number },
    from: UploadState[],
    to: UploadState,
    patch: UploadPatch = {},
  ): Promise<boolean> {
    const { numUpdatedRows } = await this.db
      .updateTable('uploads')
      .set({ ...columnsFromPatch(patch), state: to })
      .where('id', '=', upload.id)
      .where('attempt', '=', upload.attempt)
      .where('state', 'in', from)
      .executeTakeFirstOrThrow();
    return numUpdatedRows > 0n;
  }

  /** Newest first. */
  async list(filter: UploadFilter): Promise<UploadRow[]> {
    let query = this.db.selectFrom('uploads').selectAll().orderBy('received_at_ms', 'desc').orderBy('id', 'desc');
    if (filter.state !== undefined) query = query.where('state', '=', filter.state);
    if (filter.vehicle !== undefined) query = query.where('vehicle', '=', filter.vehicle);
    if (filter.kind !== undefined) query = query.where('kind', '=', filter.kind);
    if (filter.span !== undefined)
      query = query.where('last_at_ms', '>=', filter.span.fromMs).where('first_at_ms', '<', filter.span.toMs);
    if (filter.before !== undefined) {
      const last = await this.get(filter.before);
      if (!last) return [];
      const lastMs = Date.parse(last.receivedAt);
      query = query.where((where) =>
        where.or([
          where('received_at_ms', '<', lastMs),
          where.and([where('received_at_ms', '=', lastMs), where('id', '<', last.id)]),
        ]),
      );
    }
    return (await query.limit(filter.limit).execute()).map(rowFromColumns);
  }

  /** All in one state, oldest first: what a start after a crash has to take up again. */
  async withState(state: UploadState): Promise<UploadRow[]> {
    const rows = await this.db
      .selectFrom('uploads')
      .selectAll()
      .where('state', '=', state)
      .orderBy('received_at_ms')
      .orderBy('id')
      .execute();
    return rows.map(rowFromColumns);
  }

  /** Uploads whose rows are in the lake, and their bytes as sent. */
  async storedTotals(): Promise<{ uploads: number; bytes: number }> {
    const row = await this.db
      .selectFrom('uploads')
      .select((select) => [select.fn.countAll<number>().as('uploads'), select.fn.sum<number>('bytes').as('bytes')])
      .where('state', '=', 'stored')
      .executeTakeFirstOrThrow();
    return { uploads: Number(row.uploads), bytes: Number(row.bytes ?? 0) };
  }

  async countByState(): Promise<Partial<Record<UploadState, number>>> {
    const rows = await this.db
      .selectFrom('uploads')
      .select((select) => ['state', select.fn.countAll<number>().as('count')])
      .groupBy('state')
      .execute();
    return Object.fromEntries(rows.map((row) => [row.state, Number(row.count)]));
  }
}
