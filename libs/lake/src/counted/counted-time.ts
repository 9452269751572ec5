import { type CountedPart, countedParts, type Interval, type RecordedDrive } from '@tallybay/risk';
import type { Lake } from '../lake.js';
import {
  carriedSignals,
  engineSecondsOf,
  type OverlappingDrive,
  overlappingDrives,
  recordedTime,
} from './overlapping-drives.js';

/** A drive of which something is counted from another upload. */
export interface SharedDrive extends OverlappingDrive {
  /** Engine time. */
  time: CountedPart;
  /** Each signal that the drive carries: another log may lack it, and then it is counted here. */
  signals: ReadonlyMap<string, CountedPart>;
}

/** What counts of drives that others take time from, by drive id. A drive that is not in it counts whole. */
export type CountedTime = ReadonlyMap<string, SharedDrive>;

const NOTHING_SHARED: CountedTime = new Map();

/**
 * Which parts of which drives count, where several uploads of a vehicle recorded the same time: the rule is
 * `countedParts` of libs/risk, once for engine time and once for each signal. For drives that started in [fromMs, toMs).
 */
export async function readCountedTime(lake: Lake, window: { fromMs: number; toMs: number }): Promise<CountedTime> {
  const groups = await overlappingDrives(lake, window);
  if (groups.length === 0) return NOTHING_SHARED;
  const uploads = [...new Set(groups.flat().map(({ uploadId }) => uploadId))];
  const engineSeconds = await engineSecondsOf(lake, uploads);
  const carried = await carriedSignals(lake, uploads);
  const signalSeconds = new Map<string, number>();
  for (const { upload_id, signal, seconds } of carried) {
    const key = `${signal} ${upload_id}`;
    signalSeconds.set(key, (signalSeconds.get(key) ?? 0) + seconds);
  }
  const signalsOf = Map.groupBy(carried, ({ drive_id }) => drive_id);
  const shared = new Map<string, SharedDrive>();
  for (const group of groups) {
    const recorded = new Map<string, Interval[]>();
    for (const drive of group) recorded.set(drive.driveId, await recordedTime(lake, drive));
    const drives = group.map(({ driveId, uploadId }) => ({ driveId, uploadId, recorded: recorded.get(driveId)! }));
    const time = countedParts(drives, (upload) => engineSeconds.get(upload) ?? 0);
    const bySignal = partsBySignal(drives, signalsOf, signalSeconds);
    for (const drive of group) {
      const parts = [...bySignal].flatMap(([signal, all]) => {
        const part = all.get(drive.driveId);
        return part ? [[signal, part] as const] : [];
      });
      const one = { ...drive, time: time.get(drive.driveId)!, signals: new Map(parts) };
      if ([one.time, ...one.signals.values()].some((part) => shareOf(part) !== 'all')) shared.set(drive.driveId, one);
    }
  }
  return shared;
}

function partsBySignal(
  drives: readonly RecordedDrive[],
  signalsOf: ReadonlyMap<string, readonly { signal: string }[]>,
  signalSeconds: ReadonlyMap<string, number>,
): Map<string, Map<string, CountedPart>> {
  const carries = (drive: RecordedDrive, signal: string) =>
    (signalsOf.get(drive.driveId) ?? []).some((row) => row.signal === signal);
  const signals = new Set(drives.flatMap(({ driveId }) => (signalsOf.get(driveId) ?? []).map(({ signal }) => signal)));
  return new Map(
    [...signals].map((signal) => [
      signal,
      countedParts(
        drives.filter((drive) => carries(drive, signal)),
        (upload) => signalSeconds.get(`${signal} ${upload}`) ?? 0,
      ),
    ]),
  );
}

export type Share = 'all' | 'none' | 'part';

export const shareOf = (part: CountedPart): Share =>
  part.elsewhere.length === 0 ? 'all' : part.counted.length === 0 ? 'none' : 'part';

/** Another upload's log of the same time, seen from one upload. */
export interface Overlap {
  vehicleId: string;
  uploadId: string;
  otherUploadId: string;
  fromMs: number;
  toMs: number;
  /** Seconds that both recorded. */
  seconds: number;
  /** Where engine time is counted; single signals may be counted from the other where only that has them. */
  counted: 'here' | 'other';
}

/** Every pair of uploads that recorded the same time, from both sides; by upload and time. */
export function overlapsOf(counted: CountedTime): Overlap[] {
  const pairs = new Map<string, { vehicleId: string; loser: string; winner: string; intervals: Interval[] }>();
  for (const { vehicleId, uploadId, time } of counted.values())
    for (const other of time.elsewhere) {
      const key = `${uploadId} ${other.uploadId}`;
      const pair = pairs.get(key) ?? { vehicleId, loser: uploadId, winner: other.uploadId, intervals: [] };
      pair.intervals.push(...other.intervals);
      pairs.set(key, pair);
    }
  return [...pairs.values()]
    .flatMap(({ vehicleId, loser, winner, intervals }): Overlap[] => {
      const span = {
        fromMs: Math.min(...intervals.map(({ fromMs }) => fromMs)),
        toMs: Math.max(...intervals.map(({ toMs }) => toMs)),
        seconds: intervals.reduce((sum, { fromMs, toMs }) => sum + (toMs - fromMs) / 1000, 0),
      };
      return [
        { vehicleId, uploadId: loser, otherUploadId: winner, ...span, counted: 'other' },
        { vehicleId, uploadId: winner, otherUploadId: loser, ...span, counted: 'here' },
      ];
    })
    .sort(
      (a, b) => compare(a.uploadId, b.uploadId) || a.fromMs - b.fromMs || compare(a.otherUploadId, b.otherUploadId),
    );
}

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
