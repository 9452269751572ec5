import { z } from 'zod';
import type { Lake } from '../lake.js';

const DWELL_SQL = `
SELECT signal, low, high, sum(seconds) AS seconds FROM dwell
WHERE vehicle_id = $vehicle AND drive_id IS NOT NULL AND signal IN (SELECT unnest($signals))
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
GROUP BY ALL ORDER BY signal, low`;

const dwellRow = z.object({ signal: z.string(), low: z.number(), high: z.number(), seconds: z.number() });

/** Seconds in the value bins of some signals, engine running, drives that started in [fromMs, toMs). Materialises. */
export async function vehicleDwell(
  lake: Lake,
  vehicle: string,
  ask: { signals: readonly string[]; fromMs: number; toMs: number },
) {
  const { listValue } = await import('@duckdb/node-api');
  const { fromMs, toMs } = ask;
  return lake.query(DWELL_SQL, dwellRow, { vehicle, fromMs, toMs, signals: listValue([...ask.signals]) });
}

const EXTREMES_SQL = `
SELECT signal, min(min) AS min, epoch_ms(arg_min(min_at, min)) AS min_at, arg_min(upload_id, min) AS min_upload,
       max(max) AS max, epoch_ms(arg_max(max_at, max)) AS max_at, arg_max(upload_id, max) AS max_upload
FROM signal_stats WHERE vehicle_id = $vehicle AND valid > 0 AND min IS NOT NULL AND min_at IS NOT NULL AND max_at IS NOT NULL
GROUP BY signal ORDER BY signal`;

const extremesRow = z.object({
  signal: z.string(),
  min: z.number(),
  min_at: z.number(),
  min_upload: z.string(),
  max: z.number(),
  max_at: z.number(),
  max_upload: z.string(),
});

/** Lowest and highest valid value of every signal over all that is stored of the vehicle. Materialises. */
export const vehicleExtremes = (lake: Lake, vehicle: string) => lake.query(EXTREMES_SQL, extremesRow, { vehicle });
