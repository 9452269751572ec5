/** What makes a pattern over codes worth telling. Judgement, no source. */
export interface CodePatternRule {
  /** A code that was cleared so often, and came back after every clear but perhaps the last. */
  leastClearsAndBack: number;
  /** A clear within so many days before the inspection date. */
  daysBeforeInspection: number;
  together: {
    /** Vehicles that had both codes at the same time, at least; fewer tell nothing. */
    leastVehicles: number;
    /** How many times more often than by chance, at least. */
    leastLift: number;
    /** Adjusted p-value at or below which a pair is told. */
    level: number;
  };
  spreading: {
    /** The period that is looked at, and the one before it that it is compared with [days]. */
    nowDays: number;
    beforeDays: number;
    /** Vehicles that are new to the code in the period, at least. */
    leastVehicles: number;
    level: number;
  };
}

export const CODE_PATTERN_RULE: CodePatternRule = {
  leastClearsAndBack: 2,
  daysBeforeInspection: 14,
  together: { leastVehicles: 3, leastLift: 1.5, level: 0.05 },
  spreading: { nowDays: 28, beforeDays: 84, leastVehicles: 3, level: 0.05 },
};
