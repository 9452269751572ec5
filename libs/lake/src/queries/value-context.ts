import type { SignalId } from '@tallybay/decode';
import { CONTEXT_SIGNALS, ContextTracker, type PeakContext } from '@tallybay/risk';
import { uploadSource } from '../counted/upload-source.js';
import type { Lake } from '../lake.js';
import { quoteIdentifier } from '../sql.js';

/** A context looks back so far: what its tracker remembers. */
const LOOK_BACK_MS = 320_000;
/** Beside an extreme only what was recorded within this counts. */
const BESIDE_MS = 5000;
/** Instants come back from text in whole milliseconds. */
const ROUNDING_MS = 0.5;

/**
 * What went on beside instants of an upload, with load and grade of the minutes before, by instant; none for an instant in a
 * gap. Reads those samples once.
 */
export async function peakContexts(
  lake: Lake,
  upload: { vehicleId: string; uploadId: string },
  instantsMs: readonly number[],
): Promise<Map<number, PeakContext>> {
  const instants = [...new Set(instantsMs)].sort((a, b) => a - b);
  if (instants.length === 0) return new Map();
  const columns = CONTEXT_SIGNALS.map(quoteIdentifier).join(', ');
  const [timeMs = [], ...values] = await lake.columns(
    `SELECT epoch_us(time) / 1000.0, ${columns} FROM ${uploadSource(lake.directory, 'samples', upload)}
     WHERE time >= make_timestamptz($fromUs::BIGINT) AND time <= make_timestamptz($toUs::BIGINT) ORDER BY row_no`,
    {
      fromUs: BigInt(Math.floor((instants[0]! - LOOK_BACK_MS) * 1000)),
      toUs: BigInt(Math.round((instants.at(-1)! + ROUNDING_MS) * 1000)),
    },
  );
  const tracker = new ContextTracker();
  const found = new Map<number, PeakContext>();
  let next = 0;
  let lastMs = Number.NEGATIVE_INFINITY;
  const tellBefore = (ms: number) => {
    for (; next < instants.length && instants[next]! + ROUNDING_MS < ms; next++)
      // After a gap nothing was recorded beside it.
      if (instants[next]! - lastMs <= BESIDE_MS) found.set(instants[next]!, tracker.context());
  };
  (timeMs as number[]).forEach((ms, row) => {
    tellBefore(ms);
    tracker.row(ms, values, row);
    lastMs = ms;
  });
  tellBefore(Number.POSITIVE_INFINITY);
  return found;
}

const BESIDE: readonly SignalId[] = [
  'vehicle_speed_kmh',
  'engine_load_pct',
  'engine_speed_rpm',
  'ambient_temp_c',
  'grade_pct',
];

/** What was recorded within five seconds before each of some instants of an upload, by instant. Reads the upload once. */
export async function recordedBeside(
  lake: Lake,
  upload: { vehicleId: string; uploadId: string },
  instantsMs: readonly number[],
): Promise<Map<number, Record<string, number | null>>> {
  const instants = [...new Set(instantsMs)];
  const wanted = instants.map((ms) => `(${Math.round(ms * 1000)}::BIGINT)`).join(', ');
  const held = BESIDE.map(quoteIdentifier).map((name) => `arg_max(${name}, row_no) FILTER (${name} IS NOT NULL)`);
  const found = await lake.columns(
    `SELECT wanted.us::DOUBLE, ${held.join(', ')}
     FROM (VALUES ${wanted}) AS wanted(us)
     JOIN ${uploadSource(lake.directory, 'samples', upload)} AS samples
       ON epoch_us(samples.time) BETWEEN wanted.us - ${BESIDE_MS * 1000} AND wanted.us
     GROUP BY wanted.us`,
  );
  const us = (found[0] ?? []) as number[];
  return new Map(
    instants.map((ms) => {
      const row = us.indexOf(Math.round(ms * 1000));
      return [
        ms,
        Object.fromEntries(BESIDE.map((name, index) => [name, row < 0 ? null : (found[index + 1]![row] ?? null)])),
      ];
    }),
  );
}
