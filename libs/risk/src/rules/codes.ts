/** How a code's history becomes a score. Judgement, no source. */
export interface CodesRule {
  statusWeights: { pending: number; confirmed: number; permanent: number };
  /** A code that is gone now but came back within 90 days before counts by this much. */
  dormantWeight: number;
  /** Each return adds so many repetitions: within 30, 90, 365 days (the first that fits). */
  returnWeights: { within30: number; within90: number; within365: number };
  /** Older than this at the week's end: stale [days]. */
  staleDays: number;
  /** Odometer against distance-since-clear: slack before a mismatch means a clear [km, share]. */
  clearSlackKm: number;
  clearSlackShare: number;
  /** Distance and minute counters stop here (two bytes, SAE J1979). */
  counterCeiling: number;
}

export const CODES_RULE: CodesRule = {
  statusWeights: { pending: 0.4, confirmed: 1, permanent: 0.8 },
  dormantWeight: 0.4,
  returnWeights: { within30: 1, within90: 0.6, within365: 0.25 },
  staleDays: 35,
  clearSlackKm: 10,
  clearSlackShare: 0.03,
  counterCeiling: 65_535,
};
