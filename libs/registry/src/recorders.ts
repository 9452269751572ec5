import { type RecorderAssignment, TallybayError } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';

/** Which vehicle a recorder sat in, and since when. */
export class Recorders {
  constructor(private readonly db: RegistryDatabase) {}

  /** From this instant the recorder sits in the vehicle; replaces an assignment of the same instant. @throws `vehicle_not_found` */
  async assign(assignment: RecorderAssignment): Promise<void> {
    const { recorder, vehicle } = assignment;
    const from_ms = Date.parse(assignment.from);
    const known = await this.db.selectFrom('vehicles').select('id').where('id', '=', vehicle).executeTakeFirst();
    if (!known)
      throw new TallybayError('vehicle_not_found', `There is no vehicle ${vehicle}`, {
        advice: 'Register the vehicle first',
        place: { field: 'vehicle' },
      });
    await this.db
      .insertInto('recorder_assignments')
      .values({ recorder, vehicle, from_ms })
      .onConflict((conflict) => conflict.columns(['recorder', 'from_ms']).doUpdateSet({ vehicle }))
      .execute();
  }

  /** By recorder, then oldest first; of one recorder or one vehicle where given. */
  async list(filter: { recorder?: string; vehicle?: string } = {}): Promise<RecorderAssignment[]> {
    let query = this.db.selectFrom('recorder_assignments').selectAll().orderBy('recorder').orderBy('from_ms');
    if (filter.recorder !== undefined) query = query.where('recorder', '=', filter.recorder);
    if (filter.vehicle !== undefined) query = query.where('vehicle', '=', filter.vehicle);
    return (await query.execute()).map((row) => ({
      recorder: row.recorder,
      vehicle: row.vehicle,
      from: new Date(row.from_ms).toISOString(),
    }));
  }

  /** The vehicle by the assignment in force at `atMs`; null before the first. The vehicle may have been removed since. */
  async vehicleAt(recorder: string, atMs: number): Promise<string | null> {
    const row = await this.db
      .selectFrom('recorder_assignments')
      .select('vehicle')
      .where('recorder', '=', recorder)
      .where('from_ms', '<=', Math.floor(atMs))
      .orderBy('from_ms', 'desc')
      .limit(1)
      .executeTakeFirst();
    return row?.vehicle ?? null;
  }

  /** Takes back one assignment made by mistake. @returns false when there was none */
  async remove(recorder: string, fromMs: number): Promise<boolean> {
    const { numDeletedRows } = await this.db
      .deleteFrom('recorder_assignments')
      .where('recorder', '=', recorder)
      .where('from_ms', '=', fromMs)
      .executeTakeFirstOrThrow();
    return numDeletedRows > 0n;
  }
}
