import { z } from 'zod';
import type { Lake } from '../lake.js';

const SQL = `
SELECT drive_id, upload_id, epoch_ms(started_at) AS started_ms, epoch_ms(ended_at) AS ended_ms, seconds,
       distance_km, distance_source, fuel_l, rows
FROM drives
WHERE vehicle_id = $vehicle AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
ORDER BY started_at DESC, drive_id LIMIT $limit`;

const row = z.object({
  drive_id: z.string(),
  upload_id: z.string(),
  started_ms: z.number(),
  ended_ms: z.number(),
  seconds: z.number(),
  distance_km: z.number().nullable(),
  distance_source: z.string().nullable(),
  fuel_l: z.number().nullable(),
  rows: z.number(),
});
export type DriveHistoryRow = z.infer<typeof row>;

/** One vehicle's drives that started in [fromMs, toMs), newest first. Materialises. */
export const driveHistory = (
  lake: Lake,
  vehicle: string,
  { fromMs, toMs, limit }: { fromMs: number; toMs: number; limit: number },
): Promise<DriveHistoryRow[]> => lake.query(SQL, row, { vehicle, fromMs, toMs, limit });
