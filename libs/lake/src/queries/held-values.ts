import type { SignalId } from '@tallybay/decode';
import { z } from 'zod';
import type { Lake, SqlParameters } from '../lake.js';

// As `heldValue` of libs/risk: from the highest bin down until the time is reached. Bins of several segments of a drive are
// one; their time is added as decimals, since sums of doubles depend on the order in which threads get to them, and a ranking
// has the same bytes each time.
const SQL = (signals: string) => `
WITH bins AS (
  SELECT drive_id, signal, low, min(min) AS min, max(max) AS max, sum(seconds::DECIMAL(18, 6)) AS seconds
  FROM dwell
  WHERE drive_id IS NOT NULL AND signal IN (${signals})
    AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
  GROUP BY ALL
), above AS (
  SELECT * REPLACE (seconds::DOUBLE AS seconds), (sum(seconds) OVER (
    PARTITION BY drive_id, signal ORDER BY low DESC ROWS UNBOUNDED PRECEDING
  ) - seconds)::DOUBLE AS hotter
  FROM bins
)
SELECT drive_id, signal, max - ($held - hotter) / seconds * (max - min) AS held
FROM above WHERE hotter < $held AND hotter + seconds >= $held
QUALIFY row_number() OVER (PARTITION BY drive_id, signal ORDER BY low DESC) = 1
ORDER BY drive_id, signal`;

const row = z.object({ drive_id: z.string(), signal: z.string(), held: z.number() });

/**
 * Highest value that a drive was at or above for `heldSeconds` in all, of drives that started in [fromMs, toMs), by drive and
 * signal; absent where the signal was recorded for less. Materialises.
 */
export async function heldValues(
  lake: Lake,
  window: { fromMs: number; toMs: number; heldSeconds: number },
  signals: readonly SignalId[],
): Promise<Map<string, Partial<Record<SignalId, number>>>> {
  const parameters: SqlParameters = { fromMs: window.fromMs, toMs: window.toMs, held: window.heldSeconds };
  signals.forEach((signal, index) => {
    parameters[`signal${index}`] = signal;
  });
  const rows = await lake.query(SQL(signals.map((_signal, index) => `$signal${index}`).join(', ')), row, parameters);
  return new Map(
    [...Map.groupBy(rows, ({ drive_id }) => drive_id)].map(([driveId, list]) => [
      driveId,
      Object.fromEntries(list.map(({ signal, held }) => [signal, held])),
    ]),
  );
}
