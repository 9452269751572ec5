import type { SeedCodes } from '../codes/seed-codes.js';
import type { PlainName } from './plain-rankings.js';
import type { WeekTruthLabels } from './truth-of-week.js';

/** One vehicle in one week: what was said of it and what was so. */
export interface VehicleWeek {
  seed: number;
  week: string;
  vehicle: string;
  /** Heat component; null = not judged (no data, bad sensor, not ranked). */
  heat: number | null;
  /** Score of the whole ranking; null = not ranked. */
  score: number | null;
  /** First heat reason, or why there is none. */
  said: string;
  plain: Record<PlainName, number | null>;
  truth: WeekTruthLabels;
}

/** A planted overheating fault and when it was first called. */
export interface FaultCase {
  seed: number;
  vehicle: string;
  kind: string;
  breakdown: string;
  /** Breakdown less the end of the first week whose list called it; null = never before the breakdown. */
  warningDays: number | null;
  /** Highest heat score in the weeks that ended before the breakdown. */
  bestHeat: number | null;
  engineHours: number;
}

export interface SeedResult {
  seed: number;
  weeks: VehicleWeek[];
  faults: FaultCase[];
  /** Codes and readiness against the truth; absent where the path keeps no snapshots apart. */
  codes?: SeedCodes;
}

/** Heat scores from here on count as "called": what a shop would look at, far above what a healthy summer week makes. */
export const CALLED_SCORE = 0.1;
export const isCalled = ({ heat }: Pick<VehicleWeek, 'heat'>): boolean => heat !== null && heat >= CALLED_SCORE;
