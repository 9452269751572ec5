import { celsiusFromFahrenheit, exposureAtOrAbove, type VehicleFacts } from '@tallybay/risk';

/** What a user would otherwise sort by, by hand, over the same decoded data. Null where there is nothing to sort by. */
export const PLAIN_RANKINGS = {
  'highest temperature seen': highestTemperature,
  'number of active codes': activeCodes,
  'minutes over one limit': minutesOverLimit,
} as const;
export type PlainName = keyof typeof PLAIN_RANKINGS;

/** Coolant, and only coolant: fluids and exhaust have scales of their own, so their maxima cannot share one list. */
function highestTemperature({ signals }: VehicleFacts): number | null {
  const values = signals.flatMap(({ signal, max }) => (signal === 'coolant_temp_c' && max !== null ? [max] : []));
  return values.length > 0 ? Math.max(...values) : null;
}

function activeCodes({ snapshots }: VehicleFacts): number | null {
  const newest = snapshots.findLast(({ read }) => read.confirmed);
  return newest ? newest.codes.length : null;
}

/** 230 °F, the limit that the trade's bands call too hot for coolant. */
const LIMIT_C = celsiusFromFahrenheit(230);

function minutesOverLimit({ dwell, signals }: VehicleFacts): number | null {
  if (!signals.some(({ signal }) => signal === 'coolant_temp_c')) return null;
  return exposureAtOrAbove(
    dwell.filter(({ signal }) => signal === 'coolant_temp_c'),
    LIMIT_C,
  ).seconds;
}
