import { randomUUID } from 'node:crypto';
import type { WorkState } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import { type InspectionDocument, inspectionFromRow, type StoredInspection } from './work-rows.js';

const OPEN_STATES: readonly WorkState[] = ['proposed', 'booked', 'in_the_bay'];

export type NewInspection = InspectionDocument & { vehicle: string; kind: string };

/** What should be looked at, whether or not a visit holds it yet. */
export class Inspections {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** Of a vehicle and in states where given. */
  async list(filter: { vehicle?: string; states?: readonly WorkState[] } = {}): Promise<StoredInspection[]> {
    let query = this.db.selectFrom('work_inspections').selectAll().orderBy('vehicle').orderBy('kind').orderBy('id');
    if (filter.vehicle !== undefined) query = query.where('vehicle', '=', filter.vehicle);
    if (filter.states) query = query.where('state', 'in', filter.states);
    return (await query.execute()).map(inspectionFromRow);
  }

  /**
   * What should be inspected as of now: proposals are added, renewed, or taken away where nothing asks for them any more;
   * those that are in a visit, done or declined stay as they are, their reasons renewed.
   * @param wanted at most one a vehicle and kind
   */
  async propose(wanted: readonly NewInspection[]): Promise<void> {
    await inTransaction(this.db, async (db) => {
      const open = (
        await db.selectFrom('work_inspections').selectAll().where('state', 'in', OPEN_STATES).execute()
      ).map(inspectionFromRow);
      const known = new Map(open.map((item) => [`${item.vehicle}\n${item.kind}`, item]));
      const asked = new Set<string>();
      for (const { vehicle, kind, ...document } of wanted) {
        asked.add(`${vehicle}\n${kind}`);
        const text = JSON.stringify(document);
        const at = this.nowMs();
        const now = known.get(`${vehicle}\n${kind}`);
        if (!now) {
          const row = { id: randomUUID(), vehicle, kind, state: 'proposed', visit: null, note: null, version: 1 };
          await db
            .insertInto('work_inspections')
            .values({ ...row, document: text, updated_at_ms: at })
            .execute();
        } else if (text !== JSON.stringify(bare(now)))
          await db
            .updateTable('work_inspections')
            .set({ document: text, version: now.version + 1, updated_at_ms: at })
            .where('id', '=', now.id)
            .execute();
      }
      const gone = open.filter(
        (item) => item.state === 'proposed' && item.visit === null && !asked.has(`${item.vehicle}\n${item.kind}`),
      );
      for (const { id } of gone) await db.deleteFrom('work_inspections').where('id', '=', id).execute();
    });
  }
}

/**
 * The inspections of a visit, and no others, point to it; with a state, they stand where it stands.
 * @param db the transaction that changes the visit
 */
export async function linkInspections(
  db: RegistryDatabase,
  link: { visit: string; inspections: readonly { id: string }[]; state?: WorkState; atMs: number },
): Promise<void> {
  const { visit, state, atMs } = link;
  const ids = link.inspections.map(({ id }) => id);
  await db.updateTable('work_inspections').set({ visit: null }).where('visit', '=', visit).execute();
  if (ids.length === 0) return;
  await db
    .updateTable('work_inspections')
    .set(({ eb }) => ({
      ...{ visit, version: eb('version', '+', 1), updated_at_ms: atMs },
      ...(state === undefined ? {} : { state }),
    }))
    .where('id', 'in', ids)
    .execute();
}

/** The inspections of a visit that was declined are declined with it. @param db the transaction that declines the visit */
export async function declineInspections(
  db: RegistryDatabase,
  { visit, reason, atMs }: { visit: string; reason: string; atMs: number },
): Promise<void> {
  await db
    .updateTable('work_inspections')
    .set(({ eb }) => ({ state: 'declined', note: reason, version: eb('version', '+', 1), updated_at_ms: atMs }))
    .where('visit', '=', visit)
    .execute();
}

/** The inspections of a visit that is taken from the plan wait again. @param db the transaction that takes it away */
export async function freeInspections(db: RegistryDatabase, visit: string): Promise<void> {
  await db
    .updateTable('work_inspections')
    .set(({ eb }) => ({ visit: null, state: 'proposed', version: eb('version', '+', 1) }))
    .where('visit', '=', visit)
    .execute();
}

function bare(item: StoredInspection): InspectionDocument {
  const { label, why, minutes, skills, features, earliest, latest, costPerDay, latePerDay } = item;
  return { label, why, minutes, skills, features, earliest, latest, costPerDay, latePerDay };
}
