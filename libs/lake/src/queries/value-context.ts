import type { SignalId } from '@tallybay/decode';
import { CONTEXT_SIGNALS, ContextTracker, type PeakContext } from '@tallybay/risk';
import { uploadSource } from '../counted/upload-source.js';
import type { Lake } from '../lake.js';
import { quoteIdentifier } from '../sql.js';

/** A context looks back so far: what its tracker remembers. */
const LOOK_BACK_MS = 320_000;
/** Beside an extreme only what was recorded within this counts. */
const BESIDE_MS = 5000;

/** What went on beside an instant of an upload, with load and grade of the minutes before. Reads those minutes' samples. */
export async function peakContext(
  lake: Lake,
  upload: { vehicleId: string; uploadId: string },
  atMs: number,
): Promise<PeakContext> {
  const columns = CONTEXT_SIGNALS.map(quoteIdentifier).join(', ');
  const [timeMs = [], ...values] = await lake.columns(
    `SELECT epoch_us(time) / 1000.0, ${columns} FROM ${uploadSource(lake.directory, 'samples', upload)}
     WHERE time >= make_timestamptz($fromUs::BIGINT) AND time <= make_timestamptz($toUs::BIGINT) ORDER BY row_no`,
    { fromUs: BigInt(Math.floor((atMs - LOOK_BACK_MS) * 1000)), toUs: BigInt(Math.round(atMs * 1000)) },
  );
  const tracker = new ContextTracker();
  (timeMs as number[]).forEach((ms, row) => {
    tracker.row(ms, values, row);
  });
  return tracker.context();
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
