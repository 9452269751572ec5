/** Something watched until it happened or until the watch ended. Times in any unit since its origin. */
export interface Watched {
  /** From here on it was watched, having not happened yet. */
  entered: number;
  ended: number;
  happened: boolean;
  /** How much the watch counts; 1 for a whole one. */
  weight: number;
}

/** A step of a survival curve: share that is still waiting after `time`. */
export interface SurvivalStep {
  time: number;
  surviving: number;
}

/**
 * Kaplan-Meier estimate with late entries and weights: the product over event times of 1 - d / n, n the weight of those
 * under watch just before.
 * @param from only what had not happened by then counts; the curve starts there with 1
 */
export function kaplanMeier(watches: readonly Watched[], from = 0): SurvivalStep[] {
  const times = [...new Set(watches.filter(({ happened, ended }) => happened && ended > from).map((w) => w.ended))];
  let surviving = 1;
  return times
    .sort((a, b) => a - b)
    .map((time) => {
      const atRisk = weightOf(watches.filter(({ entered, ended }) => entered < time && ended >= time));
      const events = weightOf(watches.filter(({ happened, ended }) => happened && ended === time));
      surviving *= 1 - events / Math.max(atRisk, events);
      return { time, surviving };
    });
}

/** Share still waiting at a time of the curve. */
export const survivingAt = (curve: readonly SurvivalStep[], time: number): number =>
  curve.findLast((step) => step.time <= time)?.surviving ?? 1;

/** Weight of the watches that were still waiting after `time`. */
export const waitingAfter = (watches: readonly Watched[], time: number): number =>
  weightOf(watches.filter(({ entered, ended }) => entered <= time && ended > time));

const weightOf = (watches: readonly Watched[]): number => watches.reduce((sum, { weight }) => sum + weight, 0);
