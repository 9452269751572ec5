import { z } from 'zod';
import type { Lake } from '../lake.js';

const SQL = `
SELECT vehicle_id, drive_id, upload_id,
       epoch_ms(started_at) AS started_ms, epoch_ms(ended_at) AS ended_ms, seconds, distance_km
FROM drives
WHERE started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
ORDER BY vehicle_id, started_at, drive_id`;

const row = z.object({
  vehicle_id: z.string(),
  drive_id: z.string(),
  upload_id: z.string(),
  started_ms: z.number(),
  ended_ms: z.number(),
  seconds: z.number(),
  distance_km: z.number().nullable(),
});
export type WeekDriveRow = z.infer<typeof row>;

/** Drives that started in [fromMs, toMs), by vehicle and start. Materialises. */
export const weekDrives = (lake: Lake, window: { fromMs: number; toMs: number }): Promise<WeekDriveRow[]> =>
  lake.query(SQL, row, { fromMs: window.fromMs, toMs: window.toMs });
