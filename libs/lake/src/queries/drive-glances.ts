import type { SignalId } from '@tallybay/decode';
import type { SignalGlance } from '@tallybay/risk';
import { z } from 'zod';
import type { Lake, SqlParameters } from '../lake.js';

export type SignalGlances = Partial<Record<SignalId, SignalGlance>>;

/** One row a drive: a fleet's eight weeks are many drives, and few figures of each are wanted. */
const SQL = (columns: string) => `
SELECT vehicle_id, drive_id, ${columns}
FROM signal_stats
WHERE drive_id IS NOT NULL AND valid > 0
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
GROUP BY vehicle_id, drive_id ORDER BY vehicle_id, drive_id`;

// Two channels of one signal in a drive: the higher of each figure, so that the answer does not depend on their order.
const COLUMNS = (index: number) =>
  ['first', 'mean', 'max']
    .map((figure) => `max(${figure}) FILTER (WHERE signal = $signal${index}) AS ${figure}_${index}`)
    .join(', ');

const figure = z.number().nullable();

/** First, mean and highest value of some signals in every drive that started in [fromMs, toMs). Materialises. */
export async function driveGlances(
  lake: Lake,
  window: { fromMs: number; toMs: number },
  signals: readonly SignalId[],
): Promise<Map<string, Map<string, SignalGlances>>> {
  const parameters: SqlParameters = { fromMs: window.fromMs, toMs: window.toMs };
  signals.forEach((signal, index) => {
    parameters[`signal${index}`] = signal;
  });
  const row = z.object({ vehicle_id: z.string(), drive_id: z.string() }).catchall(figure);
  const rows = await lake.query(SQL(signals.map((_signal, index) => COLUMNS(index)).join(', ')), row, parameters);
  const glances = new Map<string, Map<string, SignalGlances>>();
  for (const found of rows) {
    const drives = glances.get(found.vehicle_id) ?? new Map<string, SignalGlances>();
    glances.set(found.vehicle_id, drives.set(found.drive_id, glancesOf(found, signals)));
  }
  return glances;
}

function glancesOf(row: Record<string, unknown>, signals: readonly SignalId[]): SignalGlances {
  const glances: SignalGlances = {};
  signals.forEach((signal, index) => {
    const first = row[`first_${index}`] as number | null;
    const max = row[`max_${index}`] as number | null;
    if (first !== null && max !== null) glances[signal] = { first, max, mean: row[`mean_${index}`] as number | null };
  });
  return glances;
}
