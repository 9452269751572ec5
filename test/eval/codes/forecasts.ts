import type { MonitorId } from '@tallybay/contracts';
import {
  CODES_RULE,
  type CompletionHistory,
  completionHistory,
  FORECAST_RULE,
  forecastReadiness,
  pooledHistory,
  type SnapshotFact,
} from '@tallybay/risk';
import type { EvalVehicle } from '../fleet/eval-vehicle.js';

const MS_PER_DAY = 86_400_000;
const RULES = { codes: CODES_RULE, forecast: FORECAST_RULE };
const AHEAD_WEEKS = [1, 2];

/** One open monitor at the end of a week: the chance that was given for a later week's end, and whether it was so. */
export interface ForecastPair {
  weeksAhead: number;
  /** Null: too little history. */
  chance: number | null;
  complete: boolean;
}

/** What a vehicle's forecasts are made from and held against; one entry a week where it says so. */
export interface ForecastCase {
  vehicleClass: string;
  snapshots: readonly SnapshotFact[];
  /** Ends of the weeks, and the monitors that were really open then. */
  weekEndsMs: readonly number[];
  openAtEnd: readonly (readonly MonitorId[])[];
  clearsMs: readonly number[];
}

export const caseOf = ({ vehicle, truth }: EvalVehicle, snapshots: readonly SnapshotFact[]): ForecastCase => ({
  ...{ vehicleClass: vehicle.vehicleClass, snapshots },
  weekEndsMs: truth.weeks.map(({ to }) => Date.parse(to)),
  openAtEnd: truth.readiness.weekly.map(({ incomplete }) => incomplete),
  clearsMs: truth.clears.map(({ at }) => Date.parse(at)),
});

/**
 * Forecasts at each week's end from what was known of the whole fleet then, against the control modules' state one and two
 * weeks later. A monitor that a later clear set back is not asked for: nobody forecasts the shop.
 */
export function forecastPairs(fleet: readonly ForecastCase[]): ForecastPair[] {
  const weeks = fleet[0]?.weekEndsMs.length ?? 0;
  return Array.from({ length: weeks }, (_, week) => week).flatMap((week) => {
    const known = fleet.map((item) => item.snapshots.filter(({ atMs }) => atMs < item.weekEndsMs[week]!));
    const histories = known.map((snapshots) => completionHistory(snapshots, RULES));
    return fleet.flatMap((item, index) => {
      const others = histories.filter(
        (_history, other) => other !== index && fleet[other]!.vehicleClass === item.vehicleClass,
      );
      const history = { own: histories[index]!, others: pooledHistory(others) };
      return AHEAD_WEEKS.flatMap((ahead) => pairsOf({ ...item, snapshots: known[index]! }, { week, ahead, history }));
    });
  });
}

function pairsOf(
  { snapshots, weekEndsMs, openAtEnd, clearsMs }: ForecastCase,
  {
    week,
    ahead,
    history,
  }: { week: number; ahead: number; history: { own: CompletionHistory; others: CompletionHistory } },
): ForecastPair[] {
  const [endMs, untilMs, open] = [weekEndsMs[week]!, weekEndsMs[week + ahead], openAtEnd[week + ahead]];
  if (untilMs === undefined || !open) return [];
  const forecast = forecastReadiness(snapshots, history, untilMs, RULES);
  if (!forecast || endMs - forecast.readAtMs > 10 * MS_PER_DAY) return [];
  if (clearsMs.some((ms) => ms > forecast.readAtMs && ms < untilMs)) return [];
  return forecast.monitors.map(({ monitor, chance }) => ({
    ...{ weeksAhead: ahead, chance: chance?.chance ?? null, complete: !open.includes(monitor) },
  }));
}
