import { z } from 'zod';
import type { Lake, SqlParameters } from '../lake.js';

const SQL = (condition: string) => `
SELECT vehicle_id, drive_id, epoch_ms(started_at) AS started_ms, signal, low, high, seconds, value_seconds, min, max
FROM dwell
WHERE drive_id IS NOT NULL
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
  AND (${condition})
ORDER BY vehicle_id, drive_id, signal, low, seconds`;

const row = z.object({
  vehicle_id: z.string(),
  drive_id: z.string(),
  started_ms: z.number(),
  signal: z.string(),
  low: z.number(),
  high: z.number(),
  seconds: z.number(),
  value_seconds: z.number(),
  min: z.number(),
  max: z.number(),
});
export type WeekDwellRow = z.infer<typeof row>;

/**
 * Dwell of drives that started in [fromMs, toMs), for the signals asked for and only in bins that reach above their
 * `above`: most of a fleet's dwell lies below every stage and is never read. Materialises.
 */
export function weekDwell(
  lake: Lake,
  window: { fromMs: number; toMs: number },
  signals: readonly { signal: string; above: number }[],
): Promise<WeekDwellRow[]> {
  if (signals.length === 0) return Promise.resolve([]);
  const parameters: SqlParameters = { fromMs: window.fromMs, toMs: window.toMs };
  const conditions = signals.map(({ signal, above }, index) => {
    parameters[`signal${index}`] = signal;
    parameters[`above${index}`] = above;
    return `signal = $signal${index} AND high > $above${index}`;
  });
  return lake.query(SQL(conditions.map((condition) => `(${condition})`).join(' OR ')), row, parameters);
}
