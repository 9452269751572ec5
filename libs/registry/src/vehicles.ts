import { type SpeedCorrection, TallybayError, type Vehicle } from '@tallybay/contracts';
import type { RegistryDatabase, RegistryTables } from './schema.js';
import { speedFactorOf } from './speed-factor.js';
import { inTransaction } from './transaction.js';
import { type PutOptions, putVersioned, type Versioned } from './versioned-put.js';

const TARGET = { table: 'vehicles', key: 'id', noun: 'vehicle' } as const;

export class Vehicles {
  constructor(
    private readonly db: RegistryDatabase,
    private readonly nowMs: () => number,
  ) {}

  /** By id; of one depot, class or route where given. */
  async list(filter: { depot?: string; vehicleClass?: string; route?: string } = {}): Promise<Versioned<Vehicle>[]> {
    let query = this.db.selectFrom('vehicles').selectAll().orderBy('id');
    if (filter.depot !== undefined) query = query.where('depot', '=', filter.depot);
    if (filter.vehicleClass !== undefined) query = query.where('vehicle_class', '=', filter.vehicleClass);
    if (filter.route !== undefined) query = query.where('route', '=', filter.route);
    return (await query.execute()).map(vehicleFromRow);
  }

  async get(id: string): Promise<Versioned<Vehicle> | null> {
    const row = await this.db.selectFrom('vehicles').selectAll().where('id', '=', id).executeTakeFirst();
    return row ? vehicleFromRow(row) : null;
  }

  /** Upper and lower case are the same letter in a VIN (ISO 3779 writes capitals only). */
  async findByVin(vin: string): Promise<Versioned<Vehicle> | null> {
    const row = await this.db.selectFrom('vehicles').selectAll().where('vin', '=', plainVin(vin)).executeTakeFirst();
    return row ? vehicleFromRow(row) : null;
  }

  /** @throws TallybayError `body_invalid` for an unknown depot or a VIN of another vehicle, `edit_conflict` */
  async upsert(vehicle: Vehicle, options: PutOptions = {}): Promise<Versioned<Vehicle>> {
    checkSpeedCorrections(vehicle.speedCorrections ?? []);
    return inTransaction(this.db, async (transaction) => {
      const depot = await transaction
        .selectFrom('depots')
        .select('id')
        .where('id', '=', vehicle.depot)
        .executeTakeFirst();
      if (!depot) throw unknownDepot(vehicle.depot, 'depot');
      const row = rowFromVehicle(vehicle);
      if (row.vin !== null) {
        const holder = await new Vehicles(transaction, this.nowMs).findByVin(row.vin);
        if (holder && holder.id !== vehicle.id) throw vinTaken(row.vin, holder.id, 'vin');
      }
      const version = await putVersioned(transaction, TARGET, { ...row, updated_at_ms: this.nowMs() }, options);
      return { ...vehicle, ...(row.vin === null ? {} : { vin: row.vin }), version };
    });
  }

  /** Its history in the lake and its recorder assignments stay. @returns false when there was none */
  async remove(id: string): Promise<boolean> {
    const { numDeletedRows } = await this.db.deleteFrom('vehicles').where('id', '=', id).executeTakeFirstOrThrow();
    return numDeletedRows > 0n;
  }
}

/** @throws TallybayError `body_invalid` for a tyre marking that cannot be read */
function checkSpeedCorrections(corrections: readonly SpeedCorrection[]): void {
  for (const [index, correction] of corrections.entries()) {
    const factor = speedFactorOf(correction);
    if (!factor.ok)
      throw new TallybayError('body_invalid', `speedCorrections.${index}: ${factor.problem.detail}`, {
        advice: 'Write tyres by their size marking, such as 245/75R16',
        place: { field: `speedCorrections.${index}` },
      });
  }
}

export const plainVin = (vin: string): string => vin.trim().toUpperCase();

type VehicleRow = Omit<RegistryTables['vehicles'], 'version' | 'updated_at_ms'>;

export function rowFromVehicle(vehicle: Vehicle): VehicleRow {
  return {
    id: vehicle.id,
    name: vehicle.name ?? null,
    vin: vehicle.vin === undefined || plainVin(vehicle.vin) === '' ? null : plainVin(vehicle.vin),
    vehicle_class: vehicle.vehicleClass,
    depot: vehicle.depot,
    route: vehicle.route ?? null,
    model_year: vehicle.modelYear ?? null,
    fuel: vehicle.fuel ?? null,
    inspection_due: vehicle.inspectionDue ?? null,
    speed_corrections: vehicle.speedCorrections?.length ? JSON.stringify(vehicle.speedCorrections) : null,
  };
}

function vehicleFromRow(row: RegistryTables['vehicles']): Versioned<Vehicle> {
  return {
    id: row.id,
    ...(row.name === null ? {} : { name: row.name }),
    ...(row.vin === null ? {} : { vin: row.vin }),
    vehicleClass: row.vehicle_class,
    depot: row.depot,
    ...(row.route === null ? {} : { route: row.route }),
    ...(row.model_year === null ? {} : { modelYear: row.model_year }),
    ...(row.fuel === null ? {} : { fuel: row.fuel as NonNullable<Vehicle['fuel']> }),
    ...(row.inspection_due === null ? {} : { inspectionDue: row.inspection_due }),
    ...(row.speed_corrections === null
      ? {}
      : { speedCorrections: JSON.parse(row.speed_corrections) as SpeedCorrection[] }),
    version: row.version,
  };
}

export function unknownDepot(depot: string, field: string): TallybayError {
  return new TallybayError('body_invalid', `${field}: there is no depot ${depot}`, {
    advice: 'Register the depot first, or name one that exists',
    place: { field },
  });
}

export function vinTaken(vin: string, holder: string, field: string): TallybayError {
  return new TallybayError('body_invalid', `${field}: the VIN ${vin} already belongs to the vehicle ${holder}`, {
    advice: `Correct the VIN, or take it from ${holder} first`,
    place: { field },
  });
}
