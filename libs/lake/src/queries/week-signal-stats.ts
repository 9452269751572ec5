import { z } from 'zod';
import type { Lake, SqlParameters } from '../lake.js';

const SQL = (signals: string) => `
SELECT vehicle_id, stats.drive_id, epoch_ms(started_at) AS started_ms, stats.signal, channel, source_unit, stats.valid, stats.min,
       stats.max, stats.first, stats.last, stats.mean, stats.seconds, out_of_range, unreadable, jump, stuck_seconds,
       counted.engine_seconds, epoch_us(stats.max_at) / 1000.0 AS max_ms
FROM signal_stats AS stats
LEFT JOIN counted_signals AS counted ON counted.drive_id = stats.drive_id AND counted.signal = stats.signal
WHERE stats.drive_id IS NOT NULL
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
  AND stats.signal IN (${signals})
ORDER BY vehicle_id, stats.drive_id, stats.signal, channel`;

const row = z.object({
  vehicle_id: z.string(),
  drive_id: z.string(),
  started_ms: z.number(),
  signal: z.string(),
  channel: z.string(),
  source_unit: z.string().nullable(),
  valid: z.number(),
  min: z.number().nullable(),
  max: z.number().nullable(),
  first: z.number().nullable(),
  last: z.number().nullable(),
  mean: z.number().nullable(),
  seconds: z.number(),
  out_of_range: z.number(),
  unreadable: z.number(),
  jump: z.number(),
  stuck_seconds: z.number(),
  /** Engine-on seconds of the drive that count for the signal; null = all of the drive. */
  engine_seconds: z.number().nullable(),
  max_ms: z.number().nullable(),
});
export type WeekSignalStatsRow = z.infer<typeof row>;

/** Per-drive figures of the signals asked for, drives that started in [fromMs, toMs). Materialises. */
export function weekSignalStats(
  lake: Lake,
  window: { fromMs: number; toMs: number },
  signals: readonly string[],
): Promise<WeekSignalStatsRow[]> {
  if (signals.length === 0) return Promise.resolve([]);
  const parameters: SqlParameters = { fromMs: window.fromMs, toMs: window.toMs };
  signals.forEach((signal, index) => {
    parameters[`signal${index}`] = signal;
  });
  const names = signals.map((_signal, index) => `$signal${index}`);
  return lake.query(SQL(names.join(', ')), row, parameters);
}
