import type { VehicleClassId } from '../fleet/classes.js';

/** What a fault does to the physical model, as factors on a healthy vehicle. */
export interface Condition {
  /** Radiator conductance. */
  radiator: number;
  /** Fan clutch engagement. */
  fan: number;
  /** Furthest the thermostat opens, and the least it stays open, 0..1. */
  thermostatMax: number;
  thermostatMin: number;
  coolantLevelPct: number;
  /** Share of the transmission's input power that slipping clutches turn into heat. */
  slip: number;
  /** Charge-air cooler effectiveness. */
  chargeCooler: number;
}

export const HEALTHY: Readonly<Condition> = {
  radiator: 1,
  fan: 1,
  thermostatMax: 1,
  thermostatMin: 0,
  coolantLevelPct: 98,
  slip: 0,
  chargeCooler: 1,
};

export interface FaultKindRow {
  id: string;
  label: string;
  /** The signal it shows on first, and whether it makes that signal too hot (or too cold). */
  signal: 'coolant_temp_c' | 'trans_fluid_temp_c' | 'charge_air_temp_c';
  overheats: boolean;
  /** Vehicle classes on which it shows; all when absent. */
  classes?: readonly VehicleClassId[];
  /** Condition at severity 0..1, where 1 is the day it breaks down. */
  effect: (severity: number) => Partial<Condition>;
}

export const FAULT_KINDS = [
  {
    id: 'clogged_radiator',
    label: 'clogged radiator',
    signal: 'coolant_temp_c',
    overheats: true,
    effect: (severity) => ({ radiator: 1 - 0.8 * severity }),
  },
  {
    id: 'weak_fan_clutch',
    label: 'weak fan clutch',
    signal: 'coolant_temp_c',
    overheats: true,
    classes: ['vacuum_truck'],
    effect: (severity) => ({ fan: 1 - 0.98 * severity }),
  },
  {
    id: 'thermostat_stuck_closed',
    label: 'thermostat sticking closed',
    signal: 'coolant_temp_c',
    overheats: true,
    effect: (severity) => ({ thermostatMax: 1 - 0.93 * severity }),
  },
  {
    id: 'thermostat_stuck_open',
    label: 'thermostat stuck open',
    signal: 'coolant_temp_c',
    overheats: false,
    effect: (severity) => ({ thermostatMin: 0.95 * Math.min(1, severity * 1.4) }),
  },
  {
    id: 'low_coolant',
    label: 'coolant loss',
    signal: 'coolant_temp_c',
    overheats: true,
    effect: (severity) => ({ coolantLevelPct: 98 - 66 * severity, radiator: 1 - 0.78 * severity ** 1.3 }),
  },
  {
    id: 'slipping_transmission',
    label: 'slipping transmission',
    signal: 'trans_fluid_temp_c',
    overheats: true,
    effect: (severity) => ({ slip: 0.22 * severity }),
  },
  {
    id: 'blocked_charge_air_cooler',
    label: 'blocked charge-air cooler',
    signal: 'charge_air_temp_c',
    overheats: true,
    classes: ['crew_bus', 'diesel_flatbed', 'vacuum_truck'],
    effect: (severity) => ({ chargeCooler: 1 - 0.8 * severity }),
  },
] as const satisfies readonly FaultKindRow[];

export type FaultKind = (typeof FAULT_KINDS)[number]['id'];

/** A fault in one vehicle: nothing before `startMs`, 1 at `breakdownMs`, repaired (0 again) at `repairedMs`. */
export interface FaultPlan {
  kind: FaultKind;
  startMs: number;
  breakdownMs: number;
  repairedMs: number;
  /** Severity = (elapsed share) ^ exponent. */
  exponent: number;
}

export function faultKind(id: FaultKind): FaultKindRow {
  return FAULT_KINDS.find((row) => row.id === id) as FaultKindRow;
}

export function severityAt(fault: FaultPlan, ms: number): number {
  if (ms < fault.startMs || ms >= fault.repairedMs) return 0;
  return Math.min(1, ((ms - fault.startMs) / (fault.breakdownMs - fault.startMs)) ** fault.exponent);
}

export function conditionAt(faults: readonly FaultPlan[], ms: number): Condition {
  const condition = { ...HEALTHY };
  for (const fault of faults) Object.assign(condition, faultKind(fault.kind).effect(severityAt(fault, ms)));
  return condition;
}

/** Off the road: broken down and not yet repaired. */
export function isDown(faults: readonly FaultPlan[], ms: number): boolean {
  return faults.some((fault) => ms >= fault.breakdownMs && ms < fault.repairedMs);
}
