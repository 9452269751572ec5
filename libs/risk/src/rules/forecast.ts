import type { MonitorId } from '@tallybay/contracts';

/** How the completion of monitors is forecast. Judgement, no source. */
export interface ForecastRule {
  /** All watches of the class together count as at most so many of the vehicle's own. */
  classWeight: number;
  /** Watches (weighted) that must have got as far as the vehicle has; with fewer nothing is forecast. */
  leastWatches: number;
  /** From this chance on likely; at or below the other unlikely. */
  likely: number;
  unlikely: number;
  /** Usual use is what the counters gained in so many days before the newest reading. */
  useDays: number;
  /** Less under watch than this says nothing about usual use [days]. */
  leastUseDays: number;
  /** Days that are looked ahead when no inspection date is registered, or it has passed. */
  daysWithoutDate: number;
  /** A monitor that is open when this share of the class had completed it is open for unusually long. */
  overdueShare: number;
  /** The counter of warm-ups stops here (one byte, SAE J1979 PID 30). */
  warmUpCeiling: number;
}

export const FORECAST_RULE: ForecastRule = {
  classWeight: 10,
  leastWatches: 3,
  likely: 0.8,
  unlikely: 0.3,
  useDays: 56,
  leastUseDays: 7,
  daysWithoutDate: 14,
  overdueShare: 0.95,
  warmUpCeiling: 255,
};

/**
 * General kind of driving in which a monitor runs. Common practice, no source: each maker has its own conditions, and where
 * they are known they count.
 */
export const MONITOR_DRIVING: Record<MonitorId, string> = {
  misfire: 'any driving; it runs all the time',
  fuel_system: 'any driving; it runs all the time',
  components: 'any driving; it runs all the time',
  catalyst: 'steady cruising for several minutes with a warm engine',
  heated_catalyst: 'a cold start, then steady cruising until the engine is warm',
  evap: 'a start after standing cold overnight, the tank neither full nor nearly empty, then a quiet drive in mild weather',
  secondary_air: 'a cold start followed by gentle driving',
  ac_refrigerant: 'driving for some minutes with the air conditioning on',
  o2_sensor: 'steady cruising with a warm engine and some changes of speed',
  o2_heater: 'a cold start and a few minutes of running',
  egr_vvt: 'cruising with a warm engine, and rolling to lower speeds off the accelerator several times',
  nmhc_catalyst: 'a longer steady drive with the exhaust hot',
  nox_scr: 'a longer steady drive under load with the exhaust hot',
  boost_pressure: 'ordinary driving with some strong acceleration or a loaded climb',
  exhaust_gas_sensor: 'steady cruising with a warm engine and some changes of load',
  pm_filter: 'a long drive at road speed with the exhaust hot; a regeneration that has begun must be able to finish',
};
