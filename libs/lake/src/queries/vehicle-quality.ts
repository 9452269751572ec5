import { z } from 'zod';
import type { Lake } from '../lake.js';

const RECORDINGS_SQL = `
SELECT count(*) AS count, coalesce(sum(rows), 0)::DOUBLE AS rows, coalesce(sum(rows_kept), 0)::DOUBLE AS rows_kept,
       coalesce(sum(gaps), 0)::DOUBLE AS gaps, coalesce(max(longest_gap_seconds), 0) AS longest_gap_seconds,
       arg_max(upload_id, longest_gap_seconds) FILTER (WHERE gaps > 0) AS longest_gap_upload,
       coalesce(sum(backward_steps), 0)::DOUBLE AS backward_steps,
       coalesce(sum(duplicate_times), 0)::DOUBLE AS duplicate_times
FROM uploads WHERE kind = 'log' AND vehicle_id = $vehicle
  AND last_at >= to_timestamp($fromMs / 1000.0) AND first_at < to_timestamp($toMs / 1000.0)`;

const recordingsRow = z.object({
  count: z.number(),
  rows: z.number(),
  rows_kept: z.number(),
  gaps: z.number(),
  longest_gap_seconds: z.number(),
  longest_gap_upload: z.string().nullable(),
  backward_steps: z.number(),
  duplicate_times: z.number(),
});

const SIGNALS_SQL = `
SELECT signal, string_agg(DISTINCT channel, chr(31) ORDER BY channel) AS channels, min(confidence) AS confidence,
       sum(valid)::DOUBLE AS valid, sum(blank)::DOUBLE AS blank, sum(out_of_range)::DOUBLE AS out_of_range,
       sum(unreadable)::DOUBLE AS unreadable, sum(jump)::DOUBLE AS jump, coalesce(sum(stuck_seconds), 0) AS stuck_seconds
FROM signal_stats WHERE vehicle_id = $vehicle
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
GROUP BY signal ORDER BY signal`;

const signalsRow = z.object({
  signal: z.string(),
  channels: z
    .string()
    .nullable()
    .transform((text) => (text ?? '').split('\u001f').filter((name) => name !== '')),
  confidence: z.number().nullable(),
  valid: z
    .number()
    .nullable()
    .transform((value) => value ?? 0),
  blank: z
    .number()
    .nullable()
    .transform((value) => value ?? 0),
  out_of_range: z
    .number()
    .nullable()
    .transform((value) => value ?? 0),
  unreadable: z
    .number()
    .nullable()
    .transform((value) => value ?? 0),
  jump: z
    .number()
    .nullable()
    .transform((value) => value ?? 0),
  stuck_seconds: z.number(),
});

/** What one vehicle's logs of a span lacked, and what was left out of each signal. Materialises. */
export async function vehicleQualityRows(
  lake: Lake,
  vehicle: string,
  { fromMs, toMs }: { fromMs: number; toMs: number },
) {
  const [recordings] = await lake.query(RECORDINGS_SQL, recordingsRow, { vehicle, fromMs, toMs });
  return { recordings: recordings!, signals: await lake.query(SIGNALS_SQL, signalsRow, { vehicle, fromMs, toMs }) };
}
export type VehicleQualityRows = Awaited<ReturnType<typeof vehicleQualityRows>>;
