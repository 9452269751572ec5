import { CONTEXT_KEYS } from '@tallybay/risk';
import { z } from 'zod';
import type { Lake } from '../lake.js';
import { eachOnce } from './once.js';

const SQL = `
SELECT vehicle_id, upload_id, crossing_id, signal, direction, stage, limit_value, written,
       epoch_us(started_at) / 1000.0 AS started_ms, epoch_us(ended_at) / 1000.0 AS ended_ms, seconds,
       worst, epoch_us(worst_at) / 1000.0 AS worst_ms, ${CONTEXT_KEYS.join(', ')}
FROM crossings
WHERE started_at < to_timestamp($toMs / 1000.0) AND ended_at >= to_timestamp($fromMs / 1000.0)
ORDER BY started_at DESC, crossing_id LIMIT $limit`;

const context = Object.fromEntries(CONTEXT_KEYS.map((key) => [key, z.number().nullable()])) as Record<
  (typeof CONTEXT_KEYS)[number],
  z.ZodNullable<z.ZodNumber>
>;
const row = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  crossing_id: z.string(),
  signal: z.string(),
  direction: z.enum(['low', 'high']),
  stage: z.enum(['watch', 'caution', 'alarm', 'severe']),
  limit_value: z.number(),
  written: z.string(),
  started_ms: z.number(),
  ended_ms: z.number(),
  seconds: z.number(),
  worst: z.number(),
  worst_ms: z.number(),
  ...context,
});
export type CrossingRow = z.infer<typeof row>;

/**
 * Crossings of limits that reach into [fromMs, toMs), newest first; of the vehicles that the lake was opened for. Where
 * two logs recorded the same crossing of a vehicle it is listed once, from the log that has more of it. Materialises.
 */
export async function crossingHistory(
  lake: Lake,
  { fromMs, toMs, limit }: { fromMs: number; toMs: number; limit: number },
): Promise<CrossingRow[]> {
  return eachOnce(await lake.query(SQL, row, { fromMs, toMs, limit }), (one) => ({
    what: [one.vehicle_id, one.signal, one.direction, one.stage, one.limit_value].join(' '),
    ...{ uploadId: one.upload_id, fromMs: one.started_ms, toMs: one.ended_ms, seconds: one.seconds },
  }));
}
