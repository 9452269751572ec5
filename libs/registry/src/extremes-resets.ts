import { randomUUID } from 'node:crypto';
import type { ExtremesReset, NewExtremesReset } from '@tallybay/contracts';
import type { RegistryDatabase } from './schema.js';

/** Who set a vehicle's lowest and highest values back, when and why. Nothing is ever taken away. */
export class ExtremesResets {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** Newest first. */
  async ofVehicle(vehicle: string): Promise<ExtremesReset[]> {
    const rows = await this.db
      .selectFrom('extremes_resets')
      .selectAll()
      .where('vehicle', '=', vehicle)
      .orderBy('at_ms', 'desc')
      .orderBy('id')
      .execute();
    return rows.map((row) => ({
      ...{ at: new Date(row.at_ms).toISOString(), by: row.reset_by, reason: row.reason },
      signals: row.signals === null ? null : (JSON.parse(row.signals) as string[]),
    }));
  }

  async add(vehicle: string, { by, reason, signals }: NewExtremesReset): Promise<ExtremesReset> {
    const atMs = this.nowMs();
    await this.db
      .insertInto('extremes_resets')
      .values({
        ...{ id: randomUUID(), vehicle, at_ms: atMs, reset_by: by, reason },
        signals: signals ? JSON.stringify(signals) : null,
      })
      .execute();
    return { at: new Date(atMs).toISOString(), by, reason, signals: signals ?? null };
  }
}
