import { DEFAULT_HOLD_SECONDS } from '@tallybay/decode';
import type { Interval } from '@tallybay/risk';
import { z } from 'zod';
import type { Lake } from '../lake.js';
import { recordedView } from './recorded-views.js';
import { uploadSource } from './upload-source.js';

/** A drive that shares some of its time with a drive of another upload of the same vehicle. */
export interface OverlappingDrive {
  vehicleId: string;
  uploadId: string;
  driveId: string;
  startedMs: number;
  endedMs: number;
  seconds: number;
}

/** Drives follow one another in most lakes, so this finds nothing and costs one pass over `drives`, in the order of their start. */
const OVERLAPS_SQL = (drives: string) => `
WITH marked AS (
  SELECT vehicle_id, upload_id, drive_id, started_at, ended_at, seconds, CASE WHEN started_at < max(ended_at) OVER (
    PARTITION BY vehicle_id ORDER BY started_at, ended_at, drive_id ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
  ) THEN 0 ELSE 1 END AS fresh
  FROM ${drives} WHERE ended_at > to_timestamp($fromMs / 1000.0)
), clusters AS (
  SELECT *, sum(fresh) OVER (PARTITION BY vehicle_id ORDER BY started_at, ended_at, drive_id) AS cluster FROM marked
)
SELECT vehicle_id, upload_id, drive_id, epoch_us(started_at) / 1000.0 AS started_ms, epoch_us(ended_at) / 1000.0 AS ended_ms,
       seconds, cluster::DOUBLE AS cluster
FROM clusters
QUALIFY min(upload_id) OVER (PARTITION BY vehicle_id, cluster) <> max(upload_id) OVER (PARTITION BY vehicle_id, cluster)
  AND min(started_at) OVER (PARTITION BY vehicle_id, cluster) < to_timestamp($toMs / 1000.0)
ORDER BY vehicle_id, started_at, ended_at, drive_id`;

const overlapRow = z.object({
  vehicle_id: z.string(),
  upload_id: z.string(),
  drive_id: z.string(),
  started_ms: z.number(),
  ended_ms: z.number(),
  seconds: z.number(),
  cluster: z.number(),
});

/**
 * Groups of drives of one vehicle that overlap one another and come from several uploads; all that share time with a
 * drive that started in [fromMs, toMs), also from beyond it. Materialises.
 */
export async function overlappingDrives(
  lake: Lake,
  window: { fromMs: number; toMs: number },
): Promise<OverlappingDrive[][]> {
  const sql = OVERLAPS_SQL(recordedView(lake, 'drives'));
  const rows = await lake.query(sql, overlapRow, { fromMs: window.fromMs, toMs: window.toMs });
  const groups = Map.groupBy(rows, (row) => `${row.cluster} ${row.vehicle_id}`);
  return [...groups.values()].map((group) =>
    group.map((row) => ({
      ...{ vehicleId: row.vehicle_id, uploadId: row.upload_id, driveId: row.drive_id },
      ...{ startedMs: row.started_ms, endedMs: row.ended_ms, seconds: row.seconds },
    })),
  );
}

const RECORDED_SQL = (source: string) => `
WITH steps AS (
  SELECT time, CASE WHEN epoch_us(time) - lag(epoch_us(time)) OVER (ORDER BY time) <= $holdUs THEN 0 ELSE 1 END AS fresh
  FROM ${source}
  WHERE time >= make_timestamptz($fromUs::BIGINT) AND time <= make_timestamptz($toUs::BIGINT)
), stretches AS (SELECT time, sum(fresh) OVER (ORDER BY time) AS stretch FROM steps)
SELECT epoch_us(min(time)) / 1000.0 AS from_ms, epoch_us(max(time)) / 1000.0 AS to_ms
FROM stretches GROUP BY stretch ORDER BY from_ms`;

const stretchRow = z.object({ from_ms: z.number(), to_ms: z.number() });
/** A drive whose seconds fall short of its span by less than this has no gap. */
const NO_GAP_SECONDS = 1;

/** Where a drive's rows follow one another within the hold limit; read from its samples only if its seconds say there are gaps. */
export async function recordedTime(lake: Lake, drive: OverlappingDrive): Promise<Interval[]> {
  const { startedMs, endedMs } = drive;
  if ((endedMs - startedMs) / 1000 - drive.seconds < NO_GAP_SECONDS) return [{ fromMs: startedMs, toMs: endedMs }];
  const rows = await lake.query(RECORDED_SQL(uploadSource(lake.directory, 'samples', drive)), stretchRow, {
    holdUs: DEFAULT_HOLD_SECONDS * 1e6,
    ...{ fromUs: BigInt(Math.round(startedMs * 1000)), toUs: BigInt(Math.round(endedMs * 1000)) },
  });
  return rows.map(({ from_ms, to_ms }) => ({ fromMs: from_ms, toMs: to_ms }));
}

const CARRIED_SQL = (stats: string) => `
SELECT upload_id, drive_id, signal, sum(seconds) AS seconds FROM ${stats}
WHERE upload_id IN (SELECT unnest($uploads)) AND drive_id IS NOT NULL AND seconds > 0
GROUP BY ALL ORDER BY upload_id, drive_id, signal`;

const carriedRow = z.object({ upload_id: z.string(), drive_id: z.string(), signal: z.string(), seconds: z.number() });
export type CarriedSignal = z.infer<typeof carriedRow>;

/** Seconds of each signal in each drive of some uploads. Materialises. */
export async function carriedSignals(lake: Lake, uploads: readonly string[]): Promise<CarriedSignal[]> {
  const { listValue } = await import('@duckdb/node-api');
  return lake.query(CARRIED_SQL(recordedView(lake, 'signal_stats')), carriedRow, { uploads: listValue([...uploads]) });
}

const COUNTED_SQL = (drives: string) => `
SELECT upload_id, sum(seconds) AS seconds FROM ${drives} WHERE upload_id IN (SELECT unnest($uploads)) GROUP BY upload_id`;

/** Engine-on seconds of some uploads, over all their drives. */
export async function engineSecondsOf(lake: Lake, uploads: readonly string[]): Promise<Map<string, number>> {
  const { listValue } = await import('@duckdb/node-api');
  const row = z.object({ upload_id: z.string(), seconds: z.number() });
  const rows = await lake.query(COUNTED_SQL(recordedView(lake, 'drives')), row, { uploads: listValue([...uploads]) });
  return new Map(rows.map(({ upload_id, seconds }) => [upload_id, seconds]));
}
