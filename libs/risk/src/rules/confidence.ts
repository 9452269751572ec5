/** From where on a row of the ranking is trusted more. Judgement, no source; the row's level is the lowest of the four. */
export interface ConfidenceRule {
  /** Share of the three components that had data, at least. */
  coverage: Levels;
  /** Engine hours of the week, at least. */
  engineHours: Levels;
  /** Vehicles of the class that ran long enough to be compared with, the vehicle itself among them, at least. */
  classSize: Levels;
  /** Heat score between one standard deviation below and one above the shrunk rates, at most. */
  scoreWidth: Levels;
}

export interface Levels {
  high: number;
  medium: number;
}

export const CONFIDENCE_RULE: ConfidenceRule = {
  coverage: { high: 1, medium: 0.6 },
  engineHours: { high: 3, medium: 1 },
  classSize: { high: 5, medium: 3 },
  scoreWidth: { high: 0.1, medium: 0.25 },
};
