import type { HeatSignal } from './stages.js';

/** When a temperature sensor is not to be believed. Limits are physical reasoning, no source unless named. */
export interface SensorRule {
  signals: Record<HeatSignal, SensorRow>;
  /** One value all week: at least so many running seconds, over so many drives. */
  stuck: { seconds: number; drives: number; rangeK: number };
  /** One drive is enough when the one value lies at or above the lowest stage: so many running seconds. */
  stuckHotSeconds: number;
  /** Share of running seconds that decode found standing still. */
  stuckShare: number;
  /** Share of values outside the plausible range (an open or shorted circuit). */
  outOfRangeShare: number;
  /** Share of values that jumped faster than physics allows, and how many at least. */
  jumpShare: number;
  jumpsAtLeast: number;
  /** Engine off at least so long: everything has the temperature of the air around it [h]. */
  soakHours: number;
  /** First value after a soak against the middle of the other sensors [K], in at least so many cold starts. */
  soakDifferenceK: number;
  soakStarts: number;
  /** Others that agree so well are a better reference: then less is enough [K]. */
  soakClose: { agreementK: number; differenceK: number };
  /** So far apart, one cold start is enough [K]. */
  soakSureK: number;
  /** A sensor does not heal between weeks: so many of the newest cold starts count, this week's or up to so many days before. */
  soakNewest: number;
  soakLookBackDays: number;
  /** The others must agree within this to be a reference [K]. */
  soakAgreementK: number;
  /** With only air to compare with, as the vehicle measures it or as the others of its class found it at their cold starts. */
  air: {
    /** So many of the newest cold starts must all stand apart. */
    starts: number;
    /** The engine must have warmed up by so much after the start, or it was warm already [K]. */
    warmedK: number;
    /**
     * What warmth a stop may have left: `fromK` above the air at engine off, falling to 1/e in `hours`. A small engine in
     * the open cools faster, so a difference beyond this is none that a stop leaves.
     */
    leftOver: { fromK: number; hours: number };
    /** A drift grows no faster [K/day]; warmth left from a drive that nobody recorded comes and goes. */
    slopeKPerDay: number;
    /** Least difference, and how far single starts may lie from the straight line through them, top to bottom [K]. */
    own: AirRow;
    /** One own sensor and the neighbours agree on what the night was like. */
    shared: AirRow;
    /**
     * The others' air is of another hour and another street. So many `vehicles` tell what a night was; so many `pairs` of the
     * same two sensors tell how they sit, whichever one of them is bad.
     */
    ofClass: AirRow & { vehicles: number; pairs: number; withinHours: number; hourOfDay: number };
  };
  /**
   * What a sensor reads too high before that is enough for a finding is no heat either: the least by which it stood above all others
   * at so many of the cold starts nearest to a drive, or above its own usual place among them, and there by so many times as much as
   * it usually scatters. Two honest sensors may differ by less than `leastK` [K].
   */
  offset: { starts: number; leastK: number; riseScales: number };
  /** Below this ambient a block heater may be in use: no judgement [°C]. */
  soakLeastAmbientC: number;
  /** Coolant that runs this far above engine oil in long drives is not believed [K]. */
  coolantAboveOilK: number;
  longDriveSeconds: number;
}

export interface AirRow {
  differenceK: number;
  wanderK: number;
}

export interface SensorRow {
  /** No such fluid gets there and stays: at or above for `ceilingSeconds` means a wrong unit or a shorted circuit. */
  ceilingC: number;
  /** Never above this in long drives: wrong unit or open circuit; null = no such limit. */
  warmAtLeastC: number | null;
  why: string;
}

export const CEILING_SECONDS = 60;

export const SENSOR_RULE: SensorRule = {
  signals: {
    coolant_temp_c: {
      ceilingC: 155,
      warmAtLeastC: 45,
      why: 'half-and-half glycol under a 15 psi cap boils near 131 °C, so coolant does not stay above 155 °C',
    },
    engine_oil_temp_c: { ceilingC: 180, warmAtLeastC: 40, why: 'engine oil smokes and cokes well below 180 °C' },
    trans_fluid_temp_c: { ceilingC: 165, warmAtLeastC: null, why: 'plates and seals fail near 146 °C (295 °F)' },
    exhaust_gas_temp_c: { ceilingC: 1100, warmAtLeastC: 60, why: 'a manifold does not outlive 1100 °C' },
    charge_air_temp_c: { ceilingC: 200, warmAtLeastC: null, why: 'air leaves the compressor below 200 °C' },
  },
  stuck: { seconds: 2_400, drives: 2, rangeK: 0.25 },
  stuckHotSeconds: 600,
  stuckShare: 0.3,
  outOfRangeShare: 0.1,
  jumpShare: 0.01,
  jumpsAtLeast: 20,
  soakHours: 8,
  soakDifferenceK: 8,
  soakStarts: 2,
  soakClose: { agreementK: 2, differenceK: 5 },
  soakSureK: 16,
  soakNewest: 4,
  soakLookBackDays: 28,
  soakAgreementK: 8,
  air: {
    ...{ starts: 3, warmedK: 20, leftOver: { fromK: 70, hours: 4 }, slopeKPerDay: 3 },
    own: { differenceK: 5, wanderK: 5 },
    shared: { differenceK: 5, wanderK: 5 },
    ofClass: { differenceK: 10, wanderK: 16, vehicles: 2, pairs: 2, withinHours: 60, hourOfDay: 2.5 },
  },
  offset: { starts: 3, leastK: 3, riseScales: 2 },
  soakLeastAmbientC: -5,
  coolantAboveOilK: 30,
  longDriveSeconds: 1_200,
};
