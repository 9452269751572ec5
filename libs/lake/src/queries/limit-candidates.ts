import type { SignalId } from '@tallybay/decode';
import { CONTEXT_SIGNALS, type LimitRows } from '@tallybay/risk';
import { z } from 'zod';
import { uploadSource } from '../counted/upload-source.js';
import type { Lake } from '../lake.js';
import { quoteIdentifier } from '../sql.js';

const SQL = `
SELECT vehicle_id, upload_id, signal, min(min) AS min, max(max) AS max FROM signal_stats
WHERE valid > 0 AND signal IN (SELECT unnest($signals))
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
GROUP BY ALL ORDER BY vehicle_id, upload_id, signal`;

const row = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  signal: z.string(),
  min: z.number(),
  max: z.number(),
});
export type SignalSpanRow = z.infer<typeof row>;

/** Lowest and highest of some signals in each upload, over segments that began in [fromMs, toMs). Materialises. */
export async function signalSpans(
  lake: Lake,
  { fromMs, toMs, signals }: { fromMs: number; toMs: number; signals: readonly string[] },
): Promise<SignalSpanRow[]> {
  const { listValue } = await import('@duckdb/node-api');
  return lake.query(SQL, row, { fromMs, toMs, signals: listValue([...signals]) });
}

/** What tells whether the engine runs, and what is told beside a worst value. */
const BESIDE: readonly SignalId[] = CONTEXT_SIGNALS;

/** One upload's samples of some signals, as a crossing tracker takes them. Reads the upload's file. */
export async function limitRows(
  lake: Lake,
  upload: { vehicleId: string; uploadId: string },
  signals: readonly SignalId[],
): Promise<{ signals: SignalId[]; rows: LimitRows }> {
  const names = [...new Set([...signals, ...BESIDE])];
  const [timeMs = [], ...values] = await lake.columns(
    `SELECT epoch_us(time) / 1000.0, ${names.map(quoteIdentifier).join(', ')}
     FROM ${uploadSource(lake.directory, 'samples', upload)} ORDER BY row_no`,
  );
  // A column without a value is one that the log lacks: an engine of unknown speed is not one that stands.
  const kept = names.flatMap((name, index) => {
    const column = values[index] ?? [];
    return column.some((value) => value !== null) ? [{ name, column }] : [];
  });
  return {
    signals: kept.map(({ name }) => name),
    rows: { rowCount: timeMs.length, timeMs: timeMs as number[], values: kept.map(({ column }) => column) },
  };
}
