import { median } from '../stats/descriptive.js';

/** Mean load and speed of one drive. */
export interface DriveLoad {
  driveId: string;
  loadPct: number;
  speedKmh: number;
}

/** Drives at a like mean speed that say what is usual, at least so many. Judgement, no source. */
const LIKE_SPEED_KMH = 10;
const LEAST_DRIVES = 3;

/**
 * How much harder the engine worked over a drive than on the vehicle's other drives at a like speed [percentage points]: a
 * trailer or a full load shows so, and so does a long climb. A proxy: no recorder says what is towed. null = too few
 * other drives to tell.
 */
export function loadExcessPct(drive: DriveLoad, others: readonly DriveLoad[]): number | null {
  const like = others.filter(
    (other) => other.driveId !== drive.driveId && Math.abs(other.speedKmh - drive.speedKmh) <= LIKE_SPEED_KMH,
  );
  return like.length < LEAST_DRIVES ? null : drive.loadPct - median(like.map(({ loadPct }) => loadPct));
}
