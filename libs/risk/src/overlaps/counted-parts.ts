import { commonTime, type Interval, intervalsMs, joinedTime, timeWithout } from './intervals.js';

/** A drive of one log, of a vehicle whose other logs cover some of the same time. */
export interface RecordedDrive {
  driveId: string;
  uploadId: string;
  /** Where its rows follow one another within the hold limit: what it has of that time. */
  recorded: readonly Interval[];
}

/** What counts of one drive, and what is counted from other uploads in its place. */
export interface CountedPart {
  driveId: string;
  uploadId: string;
  counted: Interval[];
  /** By the upload that goes first. */
  elsewhere: { uploadId: string; intervals: Interval[] }[];
}

/** What is left of a drive beside another is not counted if it is shorter: the clocks of two writings of one log differ by as much. */
const LEAST_REST_MS = 2000;

/**
 * A second of a vehicle's time counts once: from the upload that goes first among those that recorded it. The one with
 * more recorded seconds does, among equal ones the one whose id comes first. Both are facts of the uploads' contents,
 * so the order of their arrival does not matter, and one more upload never changes which of two others goes first.
 * Drives of one upload do not take time from each other: what is in one log was not recorded twice.
 * @param secondsOf seconds that an upload recorded of what is counted (engine time, or one signal)
 */
export function countedParts(
  drives: readonly RecordedDrive[],
  secondsOf: (uploadId: string) => number,
): Map<string, CountedPart> {
  const ordered = [...drives].sort(
    (a, b) => inTenths(secondsOf(b.uploadId)) - inTenths(secondsOf(a.uploadId)) || compare(a.uploadId, b.uploadId),
  );
  return new Map(
    ordered.map((drive) => {
      const elsewhere = new Map<string, Interval[]>();
      let counted = joinedTime(drive.recorded);
      for (const other of ordered) {
        if (other.uploadId === drive.uploadId) break;
        const taken = commonTime(counted, other.recorded);
        if (intervalsMs(taken) === 0) continue;
        elsewhere.set(other.uploadId, joinedTime([...(elsewhere.get(other.uploadId) ?? []), ...taken]));
        counted = timeWithout(counted, taken).filter(({ fromMs, toMs }) => toMs - fromMs >= LEAST_REST_MS);
      }
      const { driveId, uploadId } = drive;
      const list = [...elsewhere].map(([id, intervals]) => ({ uploadId: id, intervals }));
      return [driveId, { driveId, uploadId, counted, elsewhere: list }] as const;
    }),
  );
}

/** Sums of steps differ in their last places between writings of one log. */
const inTenths = (seconds: number): number => Math.round(seconds * 10);

const compare = (a: string, b: string): number => (a < b ? -1 : a > b ? 1 : 0);
