import { z } from 'zod';
import type { Lake } from '../lake.js';

const SQL = `
SELECT vehicle_id, epoch_ms(max(time)) AS last_ms FROM (
  SELECT vehicle_id, started_at AS time FROM drives WHERE started_at < to_timestamp($toMs / 1000.0)
  UNION ALL
  SELECT vehicle_id, time FROM snapshots WHERE time < to_timestamp($toMs / 1000.0)
) GROUP BY vehicle_id ORDER BY vehicle_id`;

const row = z.object({ vehicle_id: z.string(), last_ms: z.number() });
export type LastSeenRow = z.infer<typeof row>;

/** Newest start of a drive, or snapshot, of every vehicle before an instant. Materialises. */
export const lastSeen = (lake: Lake, toMs: number): Promise<LastSeenRow[]> => lake.query(SQL, row, { toMs });
