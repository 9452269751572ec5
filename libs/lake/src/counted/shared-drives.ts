import { DEFAULT_HOLD_SECONDS, isSignalId, type SignalId } from '@tallybay/decode';
import { z } from 'zod';
import type { Lake } from '../lake.js';
import { quoteIdentifier } from '../sql.js';
import { type CountedTime, type SharedDrive, shareOf } from './counted-time.js';
import { type BinEdges, type RecountedSignal, recountSignal, recountTime } from './recount.js';
import { uploadSource } from './upload-source.js';

const HOLD_MS = DEFAULT_HOLD_SECONDS * 1000;
const SPEED: SignalId = 'vehicle_speed_kmh';

/** One drive as far as it counts. */
export interface CountedDrive {
  drive: SharedDrive;
  /** Engine-on seconds. */
  seconds: number;
  /** Of the drive's distance and fuel. */
  distanceShare: number;
  signals: ReadonlyMap<string, CountedSignal>;
}

/** `figures` only where a part counts: what counts whole has the lake's own. */
export type CountedSignal = { engineSeconds: number } & (
  | { share: 'all' | 'none'; figures: null }
  | { share: 'part'; figures: RecountedSignal }
);

/**
 * Counts shared drives again; samples are read only of drives of which a part counts.
 * @param asked signals to recount where a part counts; others of such a drive are left out. Absent = all
 */
export async function recountShared(
  lake: Lake,
  counted: CountedTime,
  asked?: readonly string[],
): Promise<CountedDrive[]> {
  const result: CountedDrive[] = [];
  for (const drive of counted.values()) result.push(await recountDrive(lake, drive, asked));
  return result;
}

async function recountDrive(lake: Lake, drive: SharedDrive, asked?: readonly string[]): Promise<CountedDrive> {
  const carried = [...drive.signals]
    .filter(([signal, part]) => isSignalId(signal) && (shareOf(part) !== 'part' || !asked || asked.includes(signal)))
    .map(([signal]) => signal as SignalId);
  const partial = carried.filter((signal) => shareOf(drive.signals.get(signal)!) === 'part');
  const timeShare = shareOf(drive.time);
  const read =
    timeShare === 'part' || partial.length > 0
      ? await readSamples(lake, drive, [...new Set([...partial, ...(drive.signals.has(SPEED) ? [SPEED] : [])])])
      : null;
  const bins = partial.length > 0 ? await readBins(lake, drive) : new Map<string, BinEdges[]>();
  const seconds =
    timeShare === 'all'
      ? drive.seconds
      : timeShare === 'none'
        ? 0
        : recountTime(read!.timeMs, drive.time.counted, HOLD_MS);
  const signalOf = (signal: SignalId): CountedSignal => {
    const part = drive.signals.get(signal)!;
    const share = shareOf(part);
    if (share !== 'part') return { share, engineSeconds: share === 'all' ? drive.seconds : 0, figures: null };
    const sampled = { timeMs: read!.timeMs, values: read!.values.get(signal)!, bins: bins.get(signal) ?? null };
    return {
      share,
      engineSeconds: recountTime(read!.timeMs, part.counted, HOLD_MS),
      figures: recountSignal(sampled, part.counted, HOLD_MS),
    };
  };
  return {
    ...{
      drive,
      seconds,
      distanceShare: timeShare === 'part' ? distanceShare(drive, read!, seconds) : seconds > 0 ? 1 : 0,
    },
    signals: new Map(carried.map((signal) => [signal, signalOf(signal)])),
  };
}

interface Samples {
  timeMs: number[];
  values: Map<string, (number | null)[]>;
}

async function readSamples(lake: Lake, drive: SharedDrive, signals: readonly SignalId[]): Promise<Samples> {
  const source = uploadSource(lake.directory, 'samples', drive);
  const columns = signals.map((signal) => `, ${quoteIdentifier(signal)}`).join('');
  const [timeMs = [], ...values] = await lake.columns(
    `SELECT epoch_us(time) / 1000.0${columns} FROM ${source}
     WHERE time >= make_timestamptz($fromUs::BIGINT) AND time <= make_timestamptz($toUs::BIGINT) ORDER BY row_no`,
    { fromUs: BigInt(Math.round(drive.startedMs * 1000)), toUs: BigInt(Math.round(drive.endedMs * 1000)) },
  );
  return { timeMs: timeMs as number[], values: new Map(signals.map((signal, index) => [signal, values[index] ?? []])) };
}

const binRow = z.object({ signal: z.string(), low: z.number(), high: z.number() });

async function readBins(lake: Lake, drive: SharedDrive): Promise<Map<string, BinEdges[]>> {
  const source = uploadSource(lake.directory, 'dwell', drive);
  const sql = `SELECT signal, low, high FROM ${source} WHERE drive_id = $drive ORDER BY signal, low`;
  return Map.groupBy(await lake.query(sql, binRow, { drive: drive.driveId }), ({ signal }) => signal);
}

/** By speed where it was recorded, else by time. */
function distanceShare(drive: SharedDrive, { timeMs, values }: Samples, seconds: number): number {
  const bySeconds = drive.seconds > 0 ? seconds / drive.seconds : 0;
  const speeds = values.get(SPEED);
  if (!speeds) return bySeconds;
  const sampled = { timeMs, values: speeds, bins: null };
  const whole = recountSignal(sampled, [{ fromMs: drive.startedMs, toMs: drive.endedMs }], HOLD_MS).valueSeconds;
  return whole > 0 ? recountSignal(sampled, drive.time.counted, HOLD_MS).valueSeconds / whole : bySeconds;
}
