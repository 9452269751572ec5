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

export interface ReadVehicle {
  lived: EvalVehicle;
  snapshots: readonly SnapshotFact[];
}

/**
 * Forecasts at each week's end from what was known of the whole fleet then, against the control modules' state one and two
 * weeks later. A monitor that a later clear set back is not asked for: nobody forecasts the shop.
 */
export function forecastPairs(fleet: readonly ReadVehicle[]): ForecastPair[] {
  const weeks = fleet[0]?.lived.truth.weeks.length ?? 0;
  return Array.from({ length: weeks }, (_, week) => week).flatMap((week) => {
    const known = fleet.map(({ lived, snapshots }) => {
      const toMs = weekEnd(lived, week);
      return { lived, snapshots: snapshots.filter(({ atMs }) => atMs < toMs) };
    });
    const histories = known.map(({ snapshots }) => completionHistory(snapshots, RULES));
    return known.flatMap(({ lived, snapshots }, index) => {
      const others = histories.filter(
        (_history, other) => other !== index && known[other]!.lived.vehicle.vehicleClass === lived.vehicle.vehicleClass,
      );
      const history = { own: histories[index]!, others: pooledHistory(others) };
      return AHEAD_WEEKS.flatMap((ahead) => pairsOf({ lived, snapshots }, { week, ahead, history }));
    });
  });
}

function pairsOf(
  { lived, snapshots }: ReadVehicle,
  {
    week,
    ahead,
    history,
  }: { week: number; ahead: number; history: { own: CompletionHistory; others: CompletionHistory } },
): ForecastPair[] {
  const later = lived.truth.readiness.weekly[week + ahead];
  if (!later) return [];
  const untilMs = weekEnd(lived, week + ahead);
  const forecast = forecastReadiness(snapshots, history, untilMs, RULES);
  if (!forecast || weekEnd(lived, week) - forecast.readAtMs > 10 * MS_PER_DAY) return [];
  const cleared = lived.truth.clears.some(({ at }) => Date.parse(at) > forecast.readAtMs && Date.parse(at) < untilMs);
  if (cleared) return [];
  return forecast.monitors.map(({ monitor, chance }) => ({
    ...{ weeksAhead: ahead, chance: chance?.chance ?? null, complete: !later.incomplete.includes(monitor) },
  }));
}

const weekEnd = ({ truth }: EvalVehicle, week: number): number => Date.parse(truth.weeks[week]!.to);
