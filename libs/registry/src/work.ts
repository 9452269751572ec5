import { randomUUID } from 'node:crypto';
import { TallybayError } from '@tallybay/contracts';
import { declineInspections, freeInspections, linkInspections } from './inspections.js';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import { putVisitNews } from './visit-news.js';
import { documentOf, formerOf, type StoredVisit, type VisitDocument, visitFromRow } from './work-rows.js';

const BOARD = 'board';

export interface Board {
  version: number;
  /** What the last planning said; any JSON. */
  report: unknown;
  updatedAtMs: number;
  updatedBy: string | null;
}

export type VisitPlace = Pick<StoredVisit, 'depot' | 'bay' | 'day' | 'lastDay' | 'person' | 'parts'>;
export type NewVisit = VisitPlace & Omit<VisitDocument, 'person' | 'parts'> & { vehicle: string };

/** A plan to write down: all of it or, when somebody changed the board meanwhile, nothing. */
export interface PlanToApply {
  /** The board's version that the plan was made from. */
  boardVersion: number;
  created: readonly NewVisit[];
  moved: readonly (VisitPlace & Pick<VisitDocument, 'minutes' | 'inspections'> & { id: string })[];
  /** Visits that nothing asks for any more, or that found no place: taken from the plan, their inspections wait. */
  removed: readonly string[];
  report: unknown;
  by: string | null;
}

/** What changes of one visit, and the version of it that the change was made against, where that matters. */
export interface VisitEdit {
  id: string;
  expectedVersion?: number | undefined;
  change: VisitChange;
  /** Throws where the visit does not stand as the change needs; asked inside the transaction. */
  allow?: (now: StoredVisit) => void;
}

export type VisitChange = Partial<
  VisitPlace & Pick<StoredVisit, 'state' | 'pinned' | 'note' | 'findings' | 'used' | 'inspections' | 'minutes'>
>;

/** Visits, and the board they stand on; the inspections that they hold follow them. */
export class Work {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  async board(): Promise<Board> {
    const row = await this.db.selectFrom('work_board').selectAll().where('id', '=', BOARD).executeTakeFirst();
    if (!row) return { version: 0, report: null, updatedAtMs: 0, updatedBy: null };
    const report = row.report === null ? null : (JSON.parse(row.report) as unknown);
    return { version: row.version, report, updatedAtMs: row.updated_at_ms, updatedBy: row.updated_by };
  }

  async visits(
    filter: { vehicle?: string; from?: string; to?: string; cancelled?: boolean } = {},
  ): Promise<StoredVisit[]> {
    let query = this.db.selectFrom('work_visits').selectAll().orderBy('day').orderBy('bay').orderBy('id');
    if (filter.vehicle !== undefined) query = query.where('vehicle', '=', filter.vehicle);
    if (filter.from !== undefined) query = query.where('last_day', '>=', filter.from);
    if (filter.to !== undefined) query = query.where('day', '<=', filter.to);
    if (!filter.cancelled) query = query.where('cancelled_at_ms', 'is', null);
    return (await query.execute()).map(visitFromRow);
  }

  async visit(id: string): Promise<StoredVisit | null> {
    const row = await this.db.selectFrom('work_visits').selectAll().where('id', '=', id).executeTakeFirst();
    return row ? visitFromRow(row) : null;
  }

  /** @throws TallybayError `edit_conflict` when the board has changed since the plan was made; nothing is written then */
  async applyPlan(plan: PlanToApply): Promise<{ version: number; visits: StoredVisit[] }> {
    return inTransaction(this.db, async (db) => {
      const version = await this.advance(db, plan.by, { expected: plan.boardVersion, report: plan.report });
      const changed: string[] = [];
      for (const visit of plan.created) changed.push(await this.create(db, visit, plan.by));
      for (const { id, minutes, inspections, ...place } of plan.moved) {
        await this.write(db, id, { ...place, minutes, inspections }, plan.by);
        await linkInspections(db, { visit: id, inspections, atMs: this.nowMs() });
        changed.push(id);
      }
      for (const id of plan.removed) {
        await this.cancel(db, id, plan.by);
        changed.push(id);
      }
      const rows = await Promise.all(changed.map((id) => new Work(db, this.nowMs).visit(id)));
      const visits = rows.filter((row) => row !== null);
      await putVisitNews(db, visits, { boardVersion: version, atMs: this.nowMs() });
      return { version, visits };
    });
  }

  /** @throws TallybayError `edit_conflict`, `record_unknown`, and what `allow` throws */
  async change(edit: VisitEdit, by: string | null): Promise<StoredVisit> {
    const [changed] = await this.changeAll([edit], by);
    return changed!;
  }

  /**
   * Changes several visits: all of them or, when one of them or the board was changed meanwhile, none.
   * @param boardVersion the board's version that the changes were worked out on, where they depend on other visits
   * @throws TallybayError `edit_conflict`, `record_unknown`
   */
  async changeAll(edits: readonly VisitEdit[], by: string | null, boardVersion?: number): Promise<StoredVisit[]> {
    if (edits.length === 0) return [];
    return inTransaction(this.db, async (db) => {
      // The board's row first: it is the lock that makes two changes wait for each other, then the version tells who was late.
      const next = await this.advance(db, by, boardVersion === undefined ? {} : { expected: boardVersion });
      const changed: StoredVisit[] = [];
      for (const { id, expectedVersion, change, allow } of edits) {
        const now = await this.held(db, id, expectedVersion);
        allow?.(now);
        await this.write(db, id, change, by);
        const { state } = change;
        const inspections = change.inspections ?? now.inspections;
        if (state !== undefined) await linkInspections(db, { visit: id, inspections, state, atMs: this.nowMs() });
        changed.push((await new Work(db, this.nowMs).visit(id))!);
      }
      await putVisitNews(db, changed, { boardVersion: next, atMs: this.nowMs() });
      return changed;
    });
  }

  /**
   * Takes a visit from the plan for a reason; its inspections are declined.
   * @throws TallybayError `edit_conflict`, `record_unknown`, and what `allow` throws
   */
  async decline(
    { id, expectedVersion, allow }: Omit<VisitEdit, 'change'>,
    reason: string,
    by: string | null,
  ): Promise<StoredVisit> {
    return inTransaction(this.db, async (db) => {
      const boardVersion = await this.advance(db, by, {});
      allow?.(await this.held(db, id, expectedVersion));
      await this.write(db, id, { state: 'declined', note: reason }, by);
      await db.updateTable('work_visits').set({ cancelled_at_ms: this.nowMs() }).where('id', '=', id).execute();
      await declineInspections(db, { visit: id, reason, atMs: this.nowMs() });
      const declined = (await new Work(db, this.nowMs).visit(id))!;
      await putVisitNews(db, [declined], { boardVersion, atMs: this.nowMs() });
      return declined;
    });
  }

  private async held(db: RegistryDatabase, id: string, expectedVersion: number | undefined): Promise<StoredVisit> {
    const now = await new Work(db, this.nowMs).visit(id);
    if (!now || now.cancelledAtMs !== null)
      throw new TallybayError('record_unknown', `There is no visit ${id}, or it was taken from the plan`, {
        advice: 'GET /v1/plan lists the visits',
      });
    if (expectedVersion !== undefined && now.version !== expectedVersion) {
      const who = now.updatedBy === null ? 'Somebody' : now.updatedBy;
      throw new TallybayError(
        'edit_conflict',
        `${who} changed the visit of ${now.vehicle} meanwhile: it is at version ${now.version} (${now.state}, ${now.bay}, ${now.day}); your change was made against version ${expectedVersion}`,
        { advice: 'Look at the visit as it is now, and repeat the change if it is still right' },
      );
    }
    return now;
  }

  /** The next version of the board. @throws TallybayError `edit_conflict` */
  private async advance(
    db: RegistryDatabase,
    by: string | null,
    { expected, report }: { expected?: number; report?: unknown },
  ): Promise<number> {
    const at = this.nowMs();
    await db
      .insertInto('work_board')
      .values({ id: BOARD, version: 0, report: null, updated_at_ms: at, updated_by: by })
      .onConflict((conflict) => conflict.column('id').doNothing())
      .execute();
    let query = db
      .updateTable('work_board')
      .set(({ eb }) => ({ version: eb('version', '+', 1), updated_at_ms: at, updated_by: by }))
      .where('id', '=', BOARD);
    if (report !== undefined) query = query.set({ report: JSON.stringify(report) });
    if (expected !== undefined) query = query.where('version', '=', expected);
    const row = await query.returning('version').executeTakeFirst();
    if (row) return row.version;
    const { updatedBy } = await new Work(db, this.nowMs).board();
    throw new TallybayError(
      'edit_conflict',
      `${updatedBy ?? 'Somebody'} changed the plan while this one was being made (version ${expected})`,
      { advice: 'Look at the plan as it is now, and do it again if it is still right' },
    );
  }

  private async create(db: RegistryDatabase, visit: NewVisit, by: string | null): Promise<string> {
    const id = randomUUID();
    const at = this.nowMs();
    const { vehicle, depot, bay, day, lastDay } = visit;
    await db
      .insertInto('work_visits')
      .values({
        ...{ id, vehicle, depot, bay, day, last_day: lastDay, state: 'proposed', pinned: 0, sequence: 0 },
        ...{ document: documentOf(visit), version: 1, created_at_ms: at, updated_at_ms: at, updated_by: by },
        ...{ cancelled_at_ms: null, done_at_ms: null },
      })
      .execute();
    await linkInspections(db, { visit: id, inspections: visit.inspections, atMs: at });
    return id;
  }

  private async write(db: RegistryDatabase, id: string, change: VisitChange, by: string | null): Promise<void> {
    const now = (await new Work(db, this.nowMs).visit(id))!;
    const next = { ...now, ...change, ...formerOf(now, { ...now, ...change }) };
    const at = this.nowMs();
    await db
      .updateTable('work_visits')
      .set({
        ...{ depot: next.depot, bay: next.bay, day: next.day, last_day: next.lastDay, state: next.state },
        ...{ pinned: next.pinned ? 1 : 0, sequence: now.sequence + 1, version: now.version + 1 },
        ...{ document: documentOf(next), updated_at_ms: at, updated_by: by },
        ...(change.state === 'done' ? { done_at_ms: at } : {}),
      })
      .where('id', '=', id)
      .execute();
  }

  private async cancel(db: RegistryDatabase, id: string, by: string | null): Promise<void> {
    await this.write(db, id, {}, by);
    await db.updateTable('work_visits').set({ cancelled_at_ms: this.nowMs() }).where('id', '=', id).execute();
    await freeInspections(db, id);
  }
}
