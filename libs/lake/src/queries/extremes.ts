import { isSignalId } from '@tallybay/decode';
import { z } from 'zod';
import { uploadSource } from '../counted/upload-source.js';
import type { Lake } from '../lake.js';
import { quoteIdentifier } from '../sql.js';
import { recordedBeside } from './value-context.js';

export interface Extreme {
  value: number;
  atMs: number;
  uploadId: string;
  /** What was recorded beside it, by signal. */
  context: Record<string, number | null>;
}

export interface SignalExtremes {
  signal: string;
  lowest: Extreme | null;
  highest: Extreme | null;
}

/** Segments wholly after the instant, or whose own extremes are. */
const SQL = `
SELECT signal, upload_id,
       min(min) FILTER (min_at >= since) AS min, epoch_us(arg_min(min_at, min) FILTER (min_at >= since)) / 1000.0 AS min_ms,
       max(max) FILTER (max_at >= since) AS max, epoch_us(arg_max(max_at, max) FILTER (max_at >= since)) / 1000.0 AS max_ms
FROM (SELECT *, to_timestamp($sinceMs / 1000.0) AS since FROM signal_stats)
WHERE vehicle_id = $vehicle AND valid > 0 AND min IS NOT NULL AND max IS NOT NULL
GROUP BY signal, upload_id ORDER BY signal, upload_id`;

const row = z.object({
  signal: z.string(),
  upload_id: z.string(),
  min: z.number().nullable(),
  min_ms: z.number().nullable(),
  max: z.number().nullable(),
  max_ms: z.number().nullable(),
});

type Candidate = Omit<Extreme, 'context'>;
type Side = 'lowest' | 'highest';

/**
 * Lowest and highest valid value of every signal of a vehicle since an instant, with what was recorded beside them. Of a log
 * that was being recorded at the instant, the samples after it are read. Of equal values the earlier one stands.
 * @param sinceOf signal -> instant; signals of the vehicle without an entry count from the first recording
 */
export async function signalExtremes(
  lake: Lake,
  vehicle: string,
  sinceOf: (signal: string) => number | null,
): Promise<SignalExtremes[]> {
  const all = await lake.query(SQL, row, { vehicle, sinceMs: 0 });
  const signals = [...new Set(all.map(({ signal }) => signal))];
  const instants = [...new Set(signals.map((signal) => sinceOf(signal) ?? 0))];
  const found = new Map<string, Record<Side, Candidate[]>>();
  for (const signal of signals) found.set(signal, { lowest: [], highest: [] });
  for (const sinceMs of instants) {
    const asked = new Set(signals.filter((signal) => (sinceOf(signal) ?? 0) === sinceMs));
    const rows = sinceMs === 0 ? all : await lake.query(SQL, row, { vehicle, sinceMs });
    for (const one of rows) if (asked.has(one.signal)) collect(found.get(one.signal)!, one);
    if (sinceMs > 0)
      for (const one of await straddling(lake, vehicle, sinceMs, asked)) collect(found.get(one.signal)!, one);
  }
  return withContext(lake, vehicle, found);
}

function collect(into: Record<Side, Candidate[]>, one: z.infer<typeof row>): void {
  const { upload_id: uploadId, min, min_ms, max, max_ms } = one;
  if (min !== null && min_ms !== null) into.lowest.push({ value: min, atMs: min_ms, uploadId });
  if (max !== null && max_ms !== null) into.highest.push({ value: max, atMs: max_ms, uploadId });
}

const STRADDLING_SQL = `
SELECT upload_id FROM uploads
WHERE vehicle_id = $vehicle AND kind = 'log' AND first_at < to_timestamp($sinceMs / 1000.0) AND last_at >= to_timestamp($sinceMs / 1000.0)
ORDER BY upload_id`;

/** Of logs that were under way at the instant: what their samples have after it. */
async function straddling(
  lake: Lake,
  vehicle: string,
  sinceMs: number,
  signals: ReadonlySet<string>,
): Promise<z.infer<typeof row>[]> {
  const uploads = await lake.query(STRADDLING_SQL, z.object({ upload_id: z.string() }), { vehicle, sinceMs });
  const names = [...signals].filter(isSignalId);
  const found: z.infer<typeof row>[] = [];
  for (const { upload_id } of uploads) {
    const figures = names
      .map(quoteIdentifier)
      .map(
        (name) =>
          `min(${name}), epoch_us(arg_min(time, ${name})) / 1000.0, max(${name}), epoch_us(arg_max(time, ${name})) / 1000.0`,
      );
    const columns = await lake.columns(
      `SELECT ${figures.join(', ')} FROM ${uploadSource(lake.directory, 'samples', { vehicleId: vehicle, uploadId: upload_id })}
       WHERE time >= make_timestamptz($sinceUs::BIGINT)`,
      { sinceUs: BigInt(Math.round(sinceMs * 1000)) },
    );
    names.forEach((signal, index) => {
      const [min, min_ms, max, max_ms] = [0, 1, 2, 3].map((at) => columns[index * 4 + at]?.[0] ?? null);
      found.push({ signal, upload_id, min: min!, min_ms: min_ms!, max: max!, max_ms: max_ms! });
    });
  }
  return found;
}

async function withContext(
  lake: Lake,
  vehicle: string,
  found: ReadonlyMap<string, Record<Side, Candidate[]>>,
): Promise<SignalExtremes[]> {
  const chosen = [...found].map(([signal, sides]) => ({
    ...{ signal, lowest: first(sides.lowest, 1), highest: first(sides.highest, -1) },
  }));
  const every = chosen.flatMap(({ lowest, highest }) => [lowest, highest]).filter((one) => one !== null);
  const contexts = new Map<string, Map<number, Record<string, number | null>>>();
  for (const [uploadId, list] of Map.groupBy(every, (one) => one.uploadId)) {
    const instants = list.map(({ atMs }) => atMs);
    contexts.set(uploadId, await recordedBeside(lake, { vehicleId: vehicle, uploadId }, instants));
  }
  const full = (one: Candidate | null) => one && { ...one, context: contexts.get(one.uploadId)?.get(one.atMs) ?? {} };
  return chosen.map(({ signal, lowest, highest }) => ({ signal, lowest: full(lowest), highest: full(highest) }));
}

/** @param sign 1 = the lowest value first, -1 = the highest */
const first = (candidates: readonly Candidate[], sign: 1 | -1): Candidate | null =>
  candidates.toSorted(
    (a, b) => sign * (a.value - b.value) || a.atMs - b.atMs || (a.uploadId < b.uploadId ? -1 : 1),
  )[0] ?? null;
