import type { SignalId } from '@tallybay/decode';
import { type Episode, EpisodeCutter, type EpisodeRule } from '@tallybay/risk';
import { z } from 'zod';
import type { Lake } from '../lake.js';
import { quoteIdentifier } from '../sql.js';

/** What is told beside an episode's worst value. */
const CONTEXT = ['vehicle_speed_kmh', 'engine_load_pct', 'engine_speed_rpm', 'ambient_temp_c'] as const;

// Only rows beyond a limit's hysteresis and the next value after each can begin, carry or end an episode; a day's log has
// a hundred thousand others.
const SQL = (columns: string, kept: string) => `
SELECT epoch_us(time) / 1000.0 AS time_ms, ${columns}
FROM samples
WHERE vehicle_id = $vehicle AND upload_id = $upload
  AND time >= to_timestamp($startedMs / 1000.0) AND time <= to_timestamp($endedMs / 1000.0)
QUALIFY ${kept}
ORDER BY row_no`;

/** The value, or the last one before it, is not back within the hysteresis. */
function keptRows(signal: SignalId, rule: EpisodeRule): string {
  const name = quoteIdentifier(signal);
  const bound = rule.side === 'high' ? `>= ${rule.limit - rule.hysteresis}` : `<= ${rule.limit + rule.hysteresis}`;
  return `(${name} ${bound} OR lag(${name} IGNORE NULLS) OVER (ORDER BY row_no) ${bound})`;
}

/** Samples are kept in single precision: a value at the limit is compared with the limit as it would be kept. */
const asSampled = (rule: EpisodeRule): EpisodeRule => ({ ...rule, limit: Math.fround(rule.limit) });

const row = z.record(z.string(), z.number().nullable());

/** A drive as `week-drives` gives it. */
export interface DriveKey {
  vehicleId: string;
  uploadId: string;
  startedMs: number;
  endedMs: number;
}

/**
 * Episodes of one drive, cut from its samples, for each asked signal and rule; in the order asked. Reads the drive's rows
 * once: ask only for drives whose dwell says there is something to see. Materialises.
 */
export async function driveEpisodes<R extends EpisodeRule>(
  lake: Lake,
  drive: DriveKey,
  asked: readonly { signal: SignalId; rule: R }[],
): Promise<{ signal: SignalId; rule: R; episodes: Episode[] }[]> {
  const signals = [...new Set<string>([...asked.map(({ signal }) => signal), ...CONTEXT])];
  if (asked.length === 0) return [];
  const cutters = asked.map(({ signal, rule }) => ({ signal, rule, cutter: new EpisodeCutter(asSampled(rule)) }));
  const kept = asked.map(({ signal, rule }) => keptRows(signal, asSampled(rule))).join(' OR ');
  const rows = await lake.query(SQL(signals.map(quoteIdentifier).join(', '), kept), row, {
    ...{ vehicle: drive.vehicleId, upload: drive.uploadId },
    ...{ startedMs: drive.startedMs, endedMs: drive.endedMs },
  });
  for (const sample of rows) {
    const context = () => Object.fromEntries(CONTEXT.map((name) => [name, sample[name] ?? null]));
    for (const { signal, cutter } of cutters) cutter.push(sample.time_ms!, sample[signal] ?? Number.NaN, context);
  }
  return cutters.map(({ signal, rule, cutter }) => ({ signal, rule, episodes: cutter.finish() }));
}
