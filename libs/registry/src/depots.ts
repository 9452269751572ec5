import { type Depot, TallybayError } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import { type PutOptions, putVersioned, type Versioned } from './versioned-put.js';

const TARGET = { table: 'depots', key: 'id', noun: 'depot' } as const;

/** Depots by id. The first one (lowest id) gives the zone in which weeks are counted. */
export class Depots {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  async list(): Promise<Versioned<Depot>[]> {
    return (await this.db.selectFrom('depots').selectAll().orderBy('id').execute()).map(depotFromRow);
  }

  async get(id: string): Promise<Versioned<Depot> | null> {
    const row = await this.db.selectFrom('depots').selectAll().where('id', '=', id).executeTakeFirst();
    return row ? depotFromRow(row) : null;
  }

  /** @throws TallybayError `body_invalid` for an unknown time zone, `edit_conflict` */
  async upsert(depot: Depot, options: PutOptions = {}): Promise<Versioned<Depot>> {
    requireTimeZone(depot.timeZone, 'timeZone');
    const row = { id: depot.id, name: depot.name, time_zone: depot.timeZone, updated_at_ms: this.nowMs() };
    return { ...depot, version: await putVersioned(this.db, TARGET, row, options) };
  }

  /** @returns false when there was none. @throws TallybayError `record_in_use` while vehicles belong to it */
  async remove(id: string): Promise<boolean> {
    return inTransaction(this.db, async (transaction) => {
      const vehicle = await transaction.selectFrom('vehicles').select('id').where('depot', '=', id).executeTakeFirst();
      if (vehicle)
        throw new TallybayError('record_in_use', `The depot ${id} still has vehicles, ${vehicle.id} among them`, {
          advice: 'Move its vehicles to another depot first',
        });
      const { numDeletedRows } = await transaction.deleteFrom('depots').where('id', '=', id).executeTakeFirstOrThrow();
      return numDeletedRows > 0n;
    });
  }
}

/** @throws TallybayError `body_invalid` with the field */
export function requireTimeZone(zone: string, field: string): void {
  try {
    new Intl.DateTimeFormat('en', { timeZone: zone });
  } catch (cause) {
    throw new TallybayError('body_invalid', `${field}: "${zone}" is not a time zone of the IANA database`, {
      advice: 'Give a name such as America/Denver or UTC',
      place: { field },
      cause,
    });
  }
}

const depotFromRow = (row: { id: string; name: string; time_zone: string; version: number }): Versioned<Depot> => ({
  id: row.id,
  name: row.name,
  timeZone: row.time_zone,
  version: row.version,
});
