import type { DriveLoad } from '@tallybay/risk';
import { z } from 'zod';
import type { Lake } from '../lake.js';

const UPLOADS_SQL = `
SELECT upload_id, gaps, longest_gap_seconds, backward_steps,
       (SELECT count(*) FROM drives WHERE drives.upload_id = uploads.upload_id) AS drives,
       (SELECT list(DISTINCT signal ORDER BY signal) FROM signal_stats
        WHERE signal_stats.upload_id = uploads.upload_id AND valid > 0) AS signals
FROM uploads WHERE kind = 'log' AND vehicle_id = $vehicle AND ($upload IS NULL OR upload_id = $upload)`;

const uploadRow = z.object({
  upload_id: z.string(),
  gaps: z.number().nullable(),
  longest_gap_seconds: z.number().nullable(),
  backward_steps: z.number().nullable(),
  drives: z.number(),
  signals: z.unknown(),
});

/** What the lake knows of a vehicle's logs, or of one of them; in no order. Materialises. */
export async function logFacts(lake: Lake, vehicle: string, upload: string | null = null) {
  const rows = await lake.query(UPLOADS_SQL, uploadRow, { vehicle, upload });
  return rows.map(({ signals, ...row }) => ({ ...row, signals: textsOf(signals) }));
}
export type LogFacts = Awaited<ReturnType<typeof logFacts>>[number];

/** DuckDB's list value; null where there was nothing to list. */
const textsOf = (list: unknown): string[] =>
  Array.isArray(list) ? list.map(String) : ((list as { items?: unknown[] } | null)?.items ?? []).map(String);

const FIGURES_SQL = `
SELECT signal, any_value(channel) AS channel, any_value(source_unit) AS source_unit,
       sum(valid)::DOUBLE AS valid, sum(blank)::DOUBLE AS blank,
       sum(out_of_range + unreadable + jump)::DOUBLE AS left_out, sum(stuck_seconds) AS stuck_seconds,
       min(min) AS min, epoch_ms(arg_min(min_at, min)) AS min_at, max(max) AS max, epoch_ms(arg_max(max_at, max)) AS max_at
FROM signal_stats WHERE upload_id = $upload GROUP BY signal ORDER BY signal`;

const figuresRow = z.object({
  signal: z.string(),
  channel: z.string(),
  source_unit: z.string().nullable(),
  valid: z.number(),
  blank: z.number(),
  left_out: z.number(),
  stuck_seconds: z.number().nullable(),
  min: z.number().nullable(),
  min_at: z.number().nullable(),
  max: z.number().nullable(),
  max_at: z.number().nullable(),
});

const MARKERS_SQL = 'SELECT epoch_ms(time) AS at_ms, text FROM markers WHERE upload_id = $upload ORDER BY time, row_no';
const markerRow = z.object({ at_ms: z.number(), text: z.string().nullable() });

const DRIVES_SQL = `
SELECT drive_id, epoch_ms(started_at) AS started_ms, epoch_ms(ended_at) AS ended_ms, distance_km
FROM drives WHERE upload_id = $upload ORDER BY started_at, drive_id`;
const driveRow = z.object({
  drive_id: z.string(),
  started_ms: z.number(),
  ended_ms: z.number(),
  distance_km: z.number().nullable(),
});

const LOADS_SQL = `
SELECT drive_id, max(mean) FILTER (signal = 'engine_load_pct') AS load_pct, max(mean) FILTER (signal = 'vehicle_speed_kmh') AS speed_kmh
FROM signal_stats WHERE vehicle_id = $vehicle AND drive_id IS NOT NULL
GROUP BY drive_id HAVING load_pct IS NOT NULL AND speed_kmh IS NOT NULL ORDER BY drive_id`;
const loadRow = z.object({ drive_id: z.string(), load_pct: z.number(), speed_kmh: z.number() });

/** Mean load and speed of every drive of a vehicle that recorded both. Materialises. */
export async function driveLoads(lake: Lake, vehicle: string): Promise<DriveLoad[]> {
  const rows = await lake.query(LOADS_SQL, loadRow, { vehicle });
  return rows.map(({ drive_id, load_pct, speed_kmh }) => ({
    driveId: drive_id,
    loadPct: load_pct,
    speedKmh: speed_kmh,
  }));
}

const PEAKS_SQL = `
SELECT upload_id, drive_id, signal, max(max) AS max FROM dwell
WHERE vehicle_id = $vehicle AND drive_id IS NOT NULL AND signal IN (SELECT unnest($signals))
  AND ($upload IS NULL OR upload_id = $upload)
  AND started_at >= to_timestamp($fromMs / 1000.0) AND started_at < to_timestamp($toMs / 1000.0)
GROUP BY ALL`;
const peakRow = z.object({ upload_id: z.string(), drive_id: z.string(), signal: z.string(), max: z.number() });

/** Figures of every signal of one log, its drives, and what the recorder wrote in its marker column. Materialises. */
export async function recordingFacts(lake: Lake, upload: string) {
  const figures = await lake.query(FIGURES_SQL, figuresRow, { upload });
  const markers = await lake.query(MARKERS_SQL, markerRow, { upload });
  const drives = await lake.query(DRIVES_SQL, driveRow, { upload });
  return { figures, markers, drives };
}

/** Highest value of each drive and signal, from dwell: which drives are worth cutting episodes from. Materialises. */
export async function drivePeaks(
  lake: Lake,
  vehicle: string,
  ask: { signals: readonly string[]; upload: string | null; fromMs: number; toMs: number },
) {
  const { listValue } = await import('@duckdb/node-api');
  const { upload, fromMs, toMs } = ask;
  return lake.query(PEAKS_SQL, peakRow, { vehicle, upload, fromMs, toMs, signals: listValue([...ask.signals]) });
}
export type DrivePeak = Awaited<ReturnType<typeof drivePeaks>>[number];
