import type { SpeedCorrection } from '@tallybay/contracts';
import { speedCorrectionFactor } from '@tallybay/decode';

/** True / recorded speed of one correction. */
export function speedFactorOf(correction: SpeedCorrection): ReturnType<typeof speedCorrectionFactor> {
  return speedCorrectionFactor({
    oldTyre: correction.tyreSetFor,
    newTyre: correction.tyreFitted,
    ...(correction.finalDriveSetFor ? { oldAxleRatio: correction.finalDriveSetFor } : {}),
    ...(correction.finalDriveFitted ? { newAxleRatio: correction.finalDriveFitted } : {}),
  });
}

/** The correction in force at an instant, or null before the first. */
export function speedCorrectionAt(corrections: readonly SpeedCorrection[], atMs: number): SpeedCorrection | null {
  let found: SpeedCorrection | null = null;
  for (const correction of corrections) {
    const fromMs = Date.parse(correction.from);
    if (fromMs <= atMs && (found === null || fromMs >= Date.parse(found.from))) found = correction;
  }
  return found;
}
