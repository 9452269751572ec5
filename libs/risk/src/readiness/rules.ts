import type { MonitorId } from '@tallybay/contracts';
import {
  CONTINUOUS_MONITORS,
  type MonitorRow,
  type MonitorRule,
  type OperationRule,
  type PermanentCodeRule,
} from '../rules/readiness.js';

export type MonitorVerdict =
  | { verdict: 'ready' | 'not_ready'; row: MonitorRow; blocking: MonitorId[] }
  | { verdict: 'not_subject'; row: null; blocking: [] };

/** Distances come as whole kilometres or converted miles: an exact limit must not be missed by rounding [km]. */
const DISTANCE_TOLERANCE_KM = 1e-6;

/**
 * Whether the incomplete monitors are within a rule. `blocking` are those of which fewer would make it ready: all the
 * incomplete ones under a count, the ones not in the list under a list. Continuous monitors do not count.
 */
export function judgeMonitors(
  rule: MonitorRule,
  vehicle: { modelYear: number; fuel: 'gas' | 'diesel' },
  incomplete: readonly MonitorId[],
): MonitorVerdict {
  const row = rule.rows.find(
    ({ fuel, fromYear, toYear }) =>
      (fuel === 'any' || fuel === vehicle.fuel) &&
      vehicle.modelYear >= fromYear &&
      (toYear === null || vehicle.modelYear <= toYear),
  );
  if (!row) return { verdict: 'not_subject', row: null, blocking: [] };
  const counted = incomplete.filter((monitor) => !CONTINUOUS_MONITORS.includes(monitor));
  const { allowed } = row;
  const blocking =
    'count' in allowed
      ? counted.length > allowed.count
        ? counted
        : []
      : counted.filter((monitor) => !allowed.only.includes(monitor));
  return { verdict: blocking.length > 0 ? 'not_ready' : 'ready', row, blocking };
}

/** `pass`, or `fail` when a permanent code counts; `unknown` when it does and the counters that would excuse it were not read. */
export function judgePermanentCodes(
  rule: PermanentCodeRule,
  facts: {
    modelYear: number;
    permanentCodes: number;
    lampOn: boolean;
    warmUpsSinceClear: number | null;
    distanceSinceClearKm: number | null;
  },
): 'pass' | 'fail' | 'unknown' {
  if (facts.permanentCodes === 0 || facts.modelYear < rule.fromModelYear) return 'pass';
  if (facts.lampOn) return 'fail';
  const warm = facts.warmUpsSinceClear;
  const driven = facts.distanceSinceClearKm;
  if ((warm !== null && warm < rule.warmUps) || (driven !== null && driven < rule.distanceKm - DISTANCE_TOLERANCE_KM))
    return 'fail';
  return warm === null || driven === null ? 'unknown' : 'pass';
}

/** Operation since clear: warm-ups if recorded, else distance, else minutes; `unknown` when none was. */
export function judgeOperation(
  rule: OperationRule,
  facts: {
    permanentCodes: number;
    warmUpsSinceClear: number | null;
    distanceSinceClearKm: number | null;
    minutesSinceClear: number | null;
  },
): 'met' | 'not_met' | 'unknown' {
  const limit = facts.permanentCodes > 0 ? 'permanent' : 'plain';
  const pairs = [
    [facts.warmUpsSinceClear, rule.warmUps[limit]],
    [facts.distanceSinceClearKm, rule.distanceKm[limit] - DISTANCE_TOLERANCE_KM],
    [facts.minutesSinceClear, rule.minutes[limit]],
  ] as const;
  const recorded = pairs.find(([value]) => value !== null);
  if (!recorded) return 'unknown';
  return recorded[0]! >= recorded[1] ? 'met' : 'not_met';
}

/**
 * 40 CFR 85.2207 (a) to (c): connector, lamp not lit when commanded, lamp commanded for stored codes. A lamp commanded on
 * without a stored code is outside the text ("for one or more codes"): the programme fails or refuses it.
 */
export function judgeLamp(facts: {
  lampOn: boolean;
  storedCodes: number;
  lampVisible?: boolean;
  connectorOk?: boolean;
}): 'pass' | 'fail' | 'fail_or_refuse' {
  if (facts.connectorOk === false || (facts.lampOn && facts.lampVisible === false)) return 'fail';
  if (!facts.lampOn) return 'pass';
  return facts.storedCodes > 0 ? 'fail' : 'fail_or_refuse';
}
