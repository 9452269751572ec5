import { codeStatusSchema, monitorIdSchema } from '@tallybay/contracts';
import { z } from 'zod';
import type { Lake } from '../lake.js';

const IN_WINDOW = 'time >= to_timestamp($fromMs / 1000.0) AND time < to_timestamp($toMs / 1000.0)';

const SNAPSHOTS_SQL = `
SELECT vehicle_id, upload_id, epoch_ms(time) AS at_ms, odometer_km, engine_hours, lamp_on, ignition,
       coalesce(read_pending, false) AS read_pending, coalesce(read_confirmed, false) AS read_confirmed,
       coalesce(read_permanent, false) AS read_permanent, coalesce(read_monitors, false) AS read_monitors,
       modules_pending, modules_confirmed, modules_permanent,
       warm_ups_since_clear, distance_since_clear_km, minutes_since_clear, distance_with_lamp_km, minutes_with_lamp
FROM snapshots WHERE ${IN_WINDOW} ORDER BY vehicle_id, time, upload_id`;

/** A JSON list of module names, null = the whole vehicle. */
const moduleList = z
  .string()
  .nullable()
  .transform((text) => (text === null ? null : z.array(z.string()).parse(JSON.parse(text))));

const snapshotRow = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  at_ms: z.number(),
  odometer_km: z.number().nullable(),
  engine_hours: z.number().nullable(),
  lamp_on: z.boolean().nullable(),
  ignition: z.enum(['spark', 'compression']).nullable(),
  read_pending: z.boolean(),
  read_confirmed: z.boolean(),
  read_permanent: z.boolean(),
  read_monitors: z.boolean(),
  modules_pending: moduleList,
  modules_confirmed: moduleList,
  modules_permanent: moduleList,
  warm_ups_since_clear: z.number().nullable(),
  distance_since_clear_km: z.number().nullable(),
  minutes_since_clear: z.number().nullable(),
  distance_with_lamp_km: z.number().nullable(),
  minutes_with_lamp: z.number().nullable(),
});
export type SnapshotRow = z.infer<typeof snapshotRow>;

const CODES_SQL = `
SELECT vehicle_id, upload_id, epoch_ms(time) AS at_ms, code, status, module
FROM codes WHERE ${IN_WINDOW} ORDER BY vehicle_id, time, upload_id, code, status, module`;

const codeRow = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  at_ms: z.number(),
  code: z.string(),
  status: codeStatusSchema,
  module: z.string().nullable(),
});
export type SnapshotCodeRow = z.infer<typeof codeRow>;

const MONITORS_SQL = `
SELECT vehicle_id, upload_id, epoch_ms(time) AS at_ms, monitor, supported, coalesce(complete, false) AS complete
FROM monitors WHERE ${IN_WINDOW} ORDER BY vehicle_id, time, upload_id, monitor`;

const monitorRow = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  at_ms: z.number(),
  monitor: monitorIdSchema,
  supported: z.boolean(),
  complete: z.boolean(),
});
export type SnapshotMonitorRow = z.infer<typeof monitorRow>;

/** Snapshots taken in [fromMs, toMs) with the codes and monitors they carry, by vehicle and time. Materialises. */
export async function snapshotHistory(
  lake: Lake,
  window: { fromMs: number; toMs: number },
): Promise<{ snapshots: SnapshotRow[]; codes: SnapshotCodeRow[]; monitors: SnapshotMonitorRow[] }> {
  const parameters = { fromMs: window.fromMs, toMs: window.toMs };
  const snapshots = await lake.query(SNAPSHOTS_SQL, snapshotRow, parameters);
  const codes = await lake.query(CODES_SQL, codeRow, parameters);
  const monitors = await lake.query(MONITORS_SQL, monitorRow, parameters);
  return { snapshots, codes, monitors };
}
