import type { Fleet } from '@tallybay/contracts';
import { Depots, requireTimeZone } from './depots.js';
import { checkFleet } from './fleet-check.js';
import { Profiles } from './profiles.js';
import { Recorders } from './recorders.js';
import type { RegistryDatabase } from './schema.js';
import { inTransaction } from './transaction.js';
import { rowFromVehicle, Vehicles } from './vehicles.js';

/** Records of the document by what happened to them. */
export interface FleetImportCounts {
  added: number;
  changed: number;
  unchanged: number;
}

/**
 * Registers a whole fleet in one transaction: everything or nothing. Records that are not in the document stay; equal ones
 * keep their version, so importing the same document again changes nothing.
 * @throws TallybayError `body_invalid` with the field of the first contradiction
 */
export async function importFleet(
  db: RegistryDatabase,
  fleet: Fleet,
  nowMs: () => number,
): Promise<Record<'depots' | 'vehicles' | 'assignments' | 'profiles', FleetImportCounts>> {
  for (const [index, depot] of fleet.depots.entries()) requireTimeZone(depot.timeZone, `depots.${index}.timeZone`);
  return inTransaction(db, async (transaction) => {
    const depots = new Depots(transaction, nowMs);
    const vehicles = new Vehicles(transaction, nowMs);
    const recorders = new Recorders(transaction);
    const profiles = new Profiles(transaction, nowMs);
    const known = {
      depots: await depots.list(),
      vehicles: await vehicles.list(),
      assignments: await recorders.list(),
      profiles: await profiles.list(),
    };
    checkFleet(fleet, known);
    const byId = (record: { id: string }) => record.id;
    const depotCounts = await mergeRecords(fleet.depots, known.depots, byId, (depot) => depots.upsert(depot));
    await clearMovedVins(transaction, fleet, known.vehicles);
    const vehicleCounts = await mergeRecords(
      fleet.vehicles.map((vehicle) => ({ ...vehicle, ...vinOf(vehicle) })),
      known.vehicles,
      byId,
      (vehicle) => vehicles.upsert(vehicle),
    );
    const assignments = fleet.assignments.map((one) => ({ ...one, from: new Date(one.from).toISOString() }));
    return {
      depots: depotCounts,
      vehicles: vehicleCounts,
      assignments: await mergeRecords(
        assignments,
        known.assignments,
        (one) => `${one.from} ${one.recorder}`,
        (one) => recorders.assign(one),
      ),
      profiles: await mergeRecords(fleet.profiles, known.profiles, byId, (profile) => profiles.upsert(profile)),
    };
  });
}

const vinOf = (vehicle: Fleet['vehicles'][number]): { vin?: string } => ({
  vin: rowFromVehicle(vehicle).vin ?? undefined,
});

async function mergeRecords<T extends object>(
  wanted: readonly T[],
  known: readonly T[],
  key: (record: T) => string,
  put: (record: T) => Promise<unknown>,
): Promise<FleetImportCounts> {
  const before = new Map(known.map((record) => [key(record), record]));
  const counts = { added: 0, changed: 0, unchanged: 0 };
  for (const record of wanted) {
    const old = before.get(key(record));
    if (old && sameRecord(old, record)) {
      counts.unchanged++;
      continue;
    }
    await put(record);
    counts[old ? 'changed' : 'added']++;
  }
  return counts;
}

/** Equal but for the version and the order of fields. */
function sameRecord(left: object, right: object): boolean {
  return canonicalJson({ ...left, version: undefined }) === canonicalJson({ ...right, version: undefined });
}

function canonicalJson(value: unknown): string {
  return JSON.stringify(value, (_key, inner: unknown) =>
    inner && typeof inner === 'object' && !Array.isArray(inner)
      ? Object.fromEntries(Object.entries(inner).sort(([left], [right]) => (left < right ? -1 : 1)))
      : inner,
  );
}

/** VINs that change are taken off first: two vehicles may swap theirs within one document. */
async function clearMovedVins(
  db: RegistryDatabase,
  fleet: Fleet,
  known: { id: string; vin?: string }[],
): Promise<void> {
  const wanted = new Map(fleet.vehicles.map((vehicle) => [vehicle.id, rowFromVehicle(vehicle).vin]));
  for (const { id, vin } of known) {
    if (vin === undefined || !wanted.has(id) || wanted.get(id) === vin) continue;
    await db.updateTable('vehicles').set({ vin: null }).where('id', '=', id).execute();
  }
}
