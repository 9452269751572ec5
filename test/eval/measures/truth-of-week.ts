import { weekWindow } from '@tallybay/risk';
import type { FaultTruth, VehicleTruth } from '@tallybay/synthetic-fleet';

/** Faults of the cooling itself; the others heat another fluid. */
export const COOLING_KINDS: readonly string[] = [
  'clogged_radiator',
  'weak_fan_clutch',
  'low_coolant',
  'thermostat_stuck_closed',
];

export interface WeekTruthLabels {
  /** Overheating fault and how far it had grown at the last drive of the week, 0..1; null = none. */
  fault: { kind: string; severity: number } | null;
  /** True temperatures stood above caution for a minute or more. */
  hot: boolean;
  /** Nothing whatever was wrong with the vehicle or its sensors in this week. */
  healthy: boolean;
  /** Its coolant sensor lied during the week. */
  badSensor: string | null;
  /** A stored code or a lit lamp at the end of the week. */
  codes: boolean;
  /** It was driven. */
  driven: boolean;
}

/** Severity of a fault at an instant, by the formula that the truth document states. */
export function severityOf(fault: FaultTruth, ms: number): number {
  const [start, breakdown, repaired] = [fault.start, fault.breakdown, fault.repaired].map((text) => Date.parse(text));
  if (ms < start! || ms >= repaired!) return 0;
  return Math.min(1, ((ms - start!) / (breakdown! - start!)) ** fault.exponent);
}

/** What was really the matter with a vehicle in one week. */
export function truthOfWeek(truth: VehicleTruth, week: string): WeekTruthLabels {
  const { fromMs, toMs } = weekWindow(week, truth.timeZone);
  const row = truth.weeks.find((item) => item.week === week);
  const ends = truth.drives.filter((drive) => drive.week === week).map(({ end }) => Date.parse(end));
  const lastMs = ends.length > 0 ? Math.max(...ends) : toMs - 1;
  const active = truth.faults.filter(
    ({ start, repaired }) => Date.parse(start) < toMs && Date.parse(repaired) > fromMs,
  );
  const worst = active
    .filter(({ overheats }) => overheats)
    .map((fault) => ({ kind: fault.kind, severity: severityOf(fault, lastMs) }))
    .sort((a, b) => b.severity - a.severity)[0];
  const sensor = truth.sensorFaults.find(({ from }) => Date.parse(from) < toMs);
  const readiness = truth.readiness.weekly.find((item) => item.week === week);
  return {
    fault: worst && worst.severity > 0 ? worst : null,
    hot: (row?.hot.length ?? 0) > 0,
    healthy: active.length === 0 && !sensor,
    badSensor: sensor?.kind ?? null,
    codes: readiness !== undefined && (readiness.lampOn || readiness.confirmed.length > 0),
    driven: ends.length > 0,
  };
}
