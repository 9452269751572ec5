import { z } from 'zod';
import type { Lake, SqlParameters } from '../lake.js';

// A drive belongs to the week it started in, as in the ranking. %G-W%V is the ISO 8601 week of timezone()'s local time.
const WEEK = "strftime(timezone($zone, drives.started_at), '%G-W%V') AS week";
const IN_SPAN = `drives.vehicle_id = $vehicle
  AND drives.started_at >= to_timestamp($fromMs / 1000.0) AND drives.started_at < to_timestamp($toMs / 1000.0)`;

const DRIVES_SQL = `
SELECT ${WEEK}, count(*) AS drives, sum(seconds) AS seconds, sum(distance_km) AS distance_km
FROM drives WHERE ${IN_SPAN} GROUP BY week`;
const drivesRow = z.object({
  week: z.string(),
  drives: z.number(),
  seconds: z.number(),
  distance_km: z.number().nullable(),
});

const SNAPSHOTS_SQL = `
SELECT strftime(timezone($zone, time), '%G-W%V') AS week, count(*) AS snapshots
FROM snapshots WHERE vehicle_id = $vehicle
  AND time >= to_timestamp($fromMs / 1000.0) AND time < to_timestamp($toMs / 1000.0) GROUP BY week`;
const snapshotsRow = z.object({ week: z.string(), snapshots: z.number() });

const DWELL_SQL = `
SELECT signal, ${WEEK}, dwell.low, dwell.high, sum(dwell.seconds) AS seconds, sum(value_seconds) AS value_seconds,
       min(dwell.min) AS min, max(dwell.max) AS max
FROM dwell JOIN drives USING (drive_id)
WHERE ${IN_SPAN} AND signal IN (SELECT unnest($signals)) GROUP BY ALL ORDER BY signal, low, week`;
const dwellRow = z.object({
  signal: z.string(),
  week: z.string(),
  low: z.number(),
  high: z.number(),
  seconds: z.number(),
  value_seconds: z.number(),
  min: z.number(),
  max: z.number(),
});

const PEAKS_SQL = `
SELECT signal, ${WEEK}, max(max) AS max, epoch_ms(arg_max(max_at, max)) AS max_at, arg_max(signal_stats.upload_id, max) AS max_upload
FROM signal_stats JOIN drives USING (drive_id)
WHERE ${IN_SPAN} AND valid > 0 AND max IS NOT NULL AND signal IN (SELECT unnest($signals)) GROUP BY ALL`;
const peaksRow = z.object({
  signal: z.string(),
  week: z.string(),
  max: z.number(),
  max_at: z.number().nullable(),
  max_upload: z.string(),
});

export interface WeeksAsk {
  fromMs: number;
  toMs: number;
  /** Zone that weeks are counted in. */
  zone: string;
  signals: readonly string[];
}

/** One vehicle's weeks: drives, snapshots, dwell and peaks of some signals while the engine ran. Materialises. */
export async function vehicleWeekRows(lake: Lake, vehicle: string, ask: WeeksAsk) {
  const { listValue } = await import('@duckdb/node-api');
  const { fromMs, toMs, zone, signals } = ask;
  const span: SqlParameters = { vehicle, fromMs, toMs, zone };
  const ofSignals = { ...span, signals: listValue([...signals]) };
  return {
    drives: await lake.query(DRIVES_SQL, drivesRow, span),
    snapshots: await lake.query(SNAPSHOTS_SQL, snapshotsRow, span),
    dwell: await lake.query(DWELL_SQL, dwellRow, ofSignals),
    peaks: await lake.query(PEAKS_SQL, peaksRow, ofSignals),
  };
}
export type VehicleWeekRows = Awaited<ReturnType<typeof vehicleWeekRows>>;
