import { listValue } from '@duckdb/node-api';
import type { Depot, Vehicle } from '@tallybay/contracts';
import { z } from 'zod';
import type { Lake } from '../lake.js';

// %G-W%V is the ISO 8601 week of the local time that timezone() gives.
const SQL = `
SELECT DISTINCT strftime(timezone($zone, time), '%G-W%V') AS week FROM (
  SELECT vehicle_id, started_at AS time FROM drives
  UNION ALL
  SELECT vehicle_id, time FROM snapshots
) WHERE vehicle_id IN (SELECT unnest($vehicles)) ORDER BY week`;

const row = z.object({ week: z.string() });

/** ISO weeks in which registered vehicles have a drive or a snapshot, each in its own depot's zone; oldest first. */
export async function dataWeeks(
  lake: Lake,
  fleet: { vehicles: readonly Vehicle[]; depots: readonly Depot[] },
): Promise<string[]> {
  const zoneOf = new Map(fleet.depots.map((depot) => [depot.id, depot.timeZone]));
  const byZone = Map.groupBy(fleet.vehicles, (vehicle) => zoneOf.get(vehicle.depot) ?? 'UTC');
  const weeks = new Set<string>();
  for (const [zone, vehicles] of byZone) {
    const parameters = { zone, vehicles: listValue(vehicles.map(({ id }) => id)) };
    for (const { week } of await lake.query(SQL, row, parameters)) weeks.add(week);
  }
  return [...weeks].sort();
}
