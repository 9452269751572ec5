import type { HeatSignal, StageName } from './stages.js';

/** How time above stages becomes a score. All of it judgement, to be tried on past weeks; no source. */
export interface HeatRule {
  /** Minutes of damage that one minute at or above a stage stands for; stages add up, so severity grows with each. */
  minuteWeights: Record<StageName, number>;
  signals: Record<HeatSignal, HeatSignalRow>;
  /** Weighted minutes per engine hour at which a signal's score is one half. */
  halfScoreRate: number;
  /** Fewer engine hours than this in the week: heat is not scored, unless `hotAnyway`. */
  minEngineHours: number;
  /**
   * Coolant, oil or transmission fluid at or above this stage for so long is scored however short the week was, in the
   * share of `minEngineHours` that was driven: it is told, and a few minutes do not top the list.
   */
  hotAnyway: { stage: StageName; seconds: number };
  /** Fewer seconds of a signal than this in the week: no data. */
  minSignalSeconds: number;
  /** What a class of which nothing is known is believed to have: weighted minutes per hour, in so many vehicles of so many hours. */
  defaultRate: number;
  defaultRateHours: number;
  defaultVehicles: number;
  /** The class is never believed to run hotter than this: its other vehicles are no evidence against this one. */
  mostClassRate: number;
  /** Bounds of the class prior's weight [engine hours]. */
  priorHours: { least: number; most: number };
  /** Heat comes in bouts: so many weighted minutes are one event to the Poisson model. */
  minutesPerEvent: number;
  /** Shorter episodes are not listed (their seconds count all the same). */
  minEpisodeSeconds: number;
}

export interface HeatSignalRow {
  label: string;
  /** Share of the heat score that this signal alone may reach. */
  weight: number;
  /** A degree-minute above a stage counts like 1/this minutes at it [K]. */
  degreesPerMinute: number;
  /** Fall below a stage that ends an episode [K]. */
  hysteresisK: number;
}

export const HEAT_RULE: HeatRule = {
  minuteWeights: { watch: 0.05, caution: 1, alarm: 4, severe: 16 },
  signals: {
    coolant_temp_c: { label: 'Coolant', weight: 1, degreesPerMinute: 5, hysteresisK: 2 },
    engine_oil_temp_c: { label: 'Engine oil', weight: 0.9, degreesPerMinute: 5, hysteresisK: 2 },
    trans_fluid_temp_c: { label: 'Transmission fluid', weight: 0.9, degreesPerMinute: 5, hysteresisK: 2 },
    exhaust_gas_temp_c: { label: 'Exhaust gas', weight: 0.7, degreesPerMinute: 50, hysteresisK: 25 },
    charge_air_temp_c: { label: 'Charge air', weight: 0.5, degreesPerMinute: 10, hysteresisK: 3 },
  },
  halfScoreRate: 6,
  minEngineHours: 0.5,
  hotAnyway: { stage: 'alarm', seconds: 60 },
  minSignalSeconds: 300,
  defaultRate: 0.05,
  defaultRateHours: 5,
  defaultVehicles: 3,
  mostClassRate: 1,
  priorHours: { least: 2, most: 8 },
  minutesPerEvent: 10,
  minEpisodeSeconds: 20,
};
