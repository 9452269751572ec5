import type { MonitorId, Vehicle } from '@tallybay/contracts';
import { byTime, codesNow } from '../codes/history.js';
import type { SnapshotFact } from '../facts.js';
import { CONTINUOUS_MONITORS, type Programme } from '../rules/readiness.js';
import { judgeLamp, judgeMonitors, judgeOperation, judgePermanentCodes } from './rules.js';

export type VerdictName = 'would_pass' | 'would_be_refused' | 'would_fail' | 'not_enough_data' | 'not_subject';

export interface ReadinessVerdict {
  verdict: VerdictName;
  programme: string;
  /** Monitors that keep it from passing. */
  blocking: MonitorId[];
  /** Every supported monitor, continuous ones aside, that has not completed. */
  incomplete: MonitorId[];
  /** Plain sentences, the deciding one first. */
  why: string[];
  snapshot: { uploadId: string; atMs: number } | null;
}

const MONITOR_LABELS: Record<MonitorId, string> = {
  misfire: 'misfire',
  fuel_system: 'fuel system',
  components: 'components',
  catalyst: 'catalyst',
  heated_catalyst: 'heated catalyst',
  evap: 'evaporative system',
  secondary_air: 'secondary air',
  ac_refrigerant: 'A/C refrigerant',
  o2_sensor: 'oxygen sensor',
  o2_heater: 'oxygen sensor heater',
  egr_vvt: 'EGR/VVT',
  nmhc_catalyst: 'NMHC catalyst',
  nox_scr: 'NOx/SCR aftertreatment',
  boost_pressure: 'boost pressure',
  exhaust_gas_sensor: 'exhaust gas sensor',
  pm_filter: 'particulate filter',
};

export const monitorLabel = (monitor: MonitorId): string => MONITOR_LABELS[monitor];

export const monitorNames = (monitors: readonly MonitorId[]): string =>
  monitors.map((monitor) => MONITOR_LABELS[monitor]).join(', ');

/**
 * What an inspection under a named programme would make of the vehicle's newest readings. Each service is taken from the
 * newest snapshot that read it; the age of those is for the caller to judge. The local programme decides, not this.
 */
export function readinessVerdict(
  programme: Programme,
  vehicle: Vehicle,
  snapshots: readonly SnapshotFact[],
): ReadinessVerdict {
  const ordered = byTime(snapshots);
  const monitors = ordered.findLast((snapshot) => snapshot.read.monitors);
  const lamp = ordered.findLast((snapshot) => snapshot.lampOn !== null);
  const incomplete = (monitors?.monitors ?? [])
    .filter(({ id, supported, complete }) => supported && !complete && !CONTINUOUS_MONITORS.includes(id))
    .map(({ id }) => id)
    .sort();
  const basis = programme.monitors ? monitors : (monitors ?? lamp);
  const base = {
    programme: programme.id,
    incomplete,
    snapshot: basis ? { uploadId: basis.uploadId, atMs: basis.atMs } : null,
  };
  const decided = decide(programme, vehicle, { ordered, incomplete, lamp, readMonitors: monitors !== undefined });
  return { ...base, ...decided };
}

interface Readings {
  ordered: readonly SnapshotFact[];
  incomplete: readonly MonitorId[];
  lamp: SnapshotFact | undefined;
  readMonitors: boolean;
}

type Decision = Pick<ReadinessVerdict, 'verdict' | 'blocking' | 'why'>;

function decide(programme: Programme, vehicle: Vehicle, readings: Readings): Decision {
  const { modelYear } = vehicle;
  const missing: string[] = [];
  if (readings.ordered.length === 0) return notEnough(['No snapshot of codes and monitors has arrived.']);
  const fuel = fuelOf(vehicle, readings.ordered);
  if (programme.monitors && modelYear !== undefined && fuel) {
    const subject = judgeMonitors(programme.monitors, { modelYear, fuel }, []);
    if (subject.verdict === 'not_subject')
      return {
        verdict: 'not_subject',
        blocking: [],
        why: [`Model year ${modelYear} is outside "${programme.label}".`],
      };
  }
  const failing = [...lampFailures(programme, readings), ...permanentFailures(programme, vehicle, readings, missing)];
  if (failing.length > 0) return { verdict: 'would_fail', blocking: [], why: failing };
  if (!readings.lamp) missing.push('The lamp was not read.');
  const refused: Decision['why'] = [];
  let blocking: MonitorId[] = [];
  if (programme.monitors) {
    if (modelYear === undefined) missing.push('The model year is not registered.');
    if (!fuel) missing.push('The fuel is neither registered nor reported.');
    if (!readings.readMonitors) missing.push('Monitors were not read.');
    if (modelYear !== undefined && fuel && readings.readMonitors) {
      blocking = judgeMonitors(programme.monitors, { modelYear, fuel }, readings.incomplete).blocking;
      if (blocking.length > 0) refused.push(`Not complete: ${monitorNames(blocking)}.`);
    }
  }
  refused.push(...operationRefusals(programme, readings, missing));
  if (refused.length > 0) return { verdict: 'would_be_refused', blocking, why: refused };
  if (missing.length > 0) return notEnough(missing);
  return { verdict: 'would_pass', blocking: [], why: [passText(readings.incomplete)] };
}

const notEnough = (why: string[]): Decision => ({ verdict: 'not_enough_data', blocking: [], why });

const passText = (incomplete: readonly MonitorId[]): string =>
  incomplete.length === 0
    ? 'All monitors complete, lamp off.'
    : `Allowed to be incomplete: ${monitorNames(incomplete)}.`;

function lampFailures(programme: Programme, { ordered, lamp }: Readings): string[] {
  const stored = codesNow(ordered, 'confirmed');
  const count = stored?.length ?? 0;
  const result = judgeLamp({ lampOn: lamp?.lampOn ?? false, storedCodes: count });
  if (programme.fails.includes('lamp') && result === 'fail') return [`The lamp is on with ${stored?.join(', ')}.`];
  if (programme.fails.includes('lamp') && result === 'fail_or_refuse')
    return ['The lamp is on, no stored code was read: the programme fails or refuses it.'];
  if (programme.fails.includes('any-code') && count > 0) return [`Stored codes: ${stored?.join(', ')}.`];
  return [];
}

function permanentFailures(programme: Programme, vehicle: Vehicle, readings: Readings, missing: string[]): string[] {
  const codes = codesNow(readings.ordered, 'permanent');
  if (!programme.permanent || vehicle.modelYear === undefined || !codes || codes.length === 0) return [];
  const result = judgePermanentCodes(programme.permanent, {
    modelYear: vehicle.modelYear,
    permanentCodes: codes.length,
    lampOn: readings.lamp?.lampOn ?? false,
    ...counters(readings.ordered),
  });
  if (result === 'unknown') missing.push('Counters since clear were not read, so permanent codes cannot be judged.');
  return result === 'fail' ? [`Permanent codes: ${codes.join(', ')}.`] : [];
}

function operationRefusals(programme: Programme, { ordered }: Readings, missing: string[]): string[] {
  if (!programme.operation) return [];
  const permanentCodes = codesNow(ordered, 'permanent')?.length ?? 0;
  const result = judgeOperation(programme.operation, { permanentCodes, ...counters(ordered) });
  if (result === 'unknown') missing.push('No counter since clear was read.');
  return result === 'not_met' ? ['Not enough operation since codes were cleared.'] : [];
}

/** Counters of one snapshot belong together: the newest that has any. */
function counters(ordered: readonly SnapshotFact[]): SnapshotFact['counters'] {
  const none = { warmUpsSinceClear: null, distanceSinceClearKm: null, minutesSinceClear: null };
  const newest = ordered.findLast(({ counters: read }) =>
    [read.warmUpsSinceClear, read.distanceSinceClearKm, read.minutesSinceClear].some((value) => value !== null),
  );
  return newest?.counters ?? { ...none, distanceWithLampKm: null, minutesWithLamp: null };
}

/** Registered fuel first; propane and gas alike count as gas; else what the module says of its ignition. */
export function fuelOf(vehicle: Vehicle, ordered: readonly SnapshotFact[]): 'gas' | 'diesel' | null {
  if (vehicle.fuel === 'gas' || vehicle.fuel === 'diesel') return vehicle.fuel;
  const ignition = ordered.findLast((snapshot) => snapshot.ignition !== null)?.ignition;
  if (!ignition) return null;
  return ignition === 'compression' ? 'diesel' : 'gas';
}
