import { addWeeks, isoDate, MS_PER_DAY, wallClockMs, weekDayMs } from '../calendar.js';
import { OTHER_CODES } from '../codes/rules.js';
import { type FaultPlan, faultKind } from '../faults/kinds.js';
import type { SensorFaultPlan } from '../faults/sensor.js';
import { type ResolvedOptions, weeksOf, weeksShifted } from '../options.js';
import { RandomStream } from '../random.js';
import type { VehicleClassId, VehicleClassRow } from './classes.js';
import { VEHICLE_CLASSES, vehicleClass } from './classes.js';
import { DEPOTS, type DepotRow } from './depots.js';
import { planRecorders, type RecorderPlan } from './recorders.js';
import { type RoleRow, roleOf } from './roles.js';
import { makeVin } from './vin.js';

/** The window that a fleet is generated for, in one depot's zone. */
export interface Window {
  weeks: string[];
  startMs: number;
  endMs: number;
}

export interface CodeFaultPlan {
  code: string;
  module: string;
  /** Share of drives on which its test fails. */
  share: number;
  /** Confirmed before the window begins. */
  old: boolean;
}

/** Everything about one vehicle that is decided before it turns a wheel. Data: a test may change it. */
export interface VehiclePlan {
  index: number;
  id: string;
  role: RoleRow;
  vehicleClass: VehicleClassRow & { id: string };
  depot: DepotRow;
  route: string;
  window: Window;
  /** Weeks by which its weather and duties are older than its dates. */
  weeksShifted: number;
  vin: string;
  modelYear: number;
  massKg: number;
  faults: FaultPlan[];
  sensorFault: SensorFaultPlan | null;
  codeFault: CodeFaultPlan | null;
  /** `clears`: the shop clears a confirmed code without repair; `hides`: once, before the inspection. */
  shop: 'leaves' | 'clears' | 'hides';
  recorders: RecorderPlan[];
  inspectionDue: string;
  inspectionMs: number;
  random: RandomStream;
}

/** Streams of a fleet: everything random hangs off this by name. */
export function fleetStream(options: ResolvedOptions): RandomStream {
  return new RandomStream(`fleet/${options.seed}`);
}

/** Plan of the vehicle with this index; the same for any size of fleet. */
export function planVehicle(options: ResolvedOptions, index: number): VehiclePlan {
  const fleet = fleetStream(options);
  const random = fleet.split('vehicle', index);
  const role = roleOf(fleet, index);
  const draw = random.split('plan');
  const depot = draw.weighted(DEPOTS.map((row) => ({ ...row, weight: row.share })));
  const window = windowOf(options, depot.timeZone);
  const kind = role.fault ? draw.pick(role.fault) : null;
  const classId = pickClass(draw, role.classes ?? (kind ? faultKind(kind).classes : undefined));
  const row = vehicleClass(classId);
  const modelYear = draw.chance(0.12) ? draw.int(1999, 2009) : draw.int(2011, 2025);
  const inspectionMs = planInspection(draw, role, window, depot.timeZone);
  return {
    index,
    id: vehicleId(index),
    role,
    vehicleClass: row,
    depot,
    route: random.split('route').pick(depot.routes),
    window,
    weeksShifted: weeksShifted(options),
    vin: makeVin(classId, modelYear, (index * 7919 + fleet.split('vin').int(0, 999_999)) % 1_000_000),
    modelYear,
    massKg: Math.round(draw.range(...row.massKg)),
    faults: kind ? [planFault(draw, kind, window, index)] : [],
    sensorFault: planSensorFault(draw, role, window),
    codeFault: planCodeFault(draw, role, row.fuel),
    shop: role.returningCode ? 'clears' : role.hiddenClear ? 'hides' : 'leaves',
    recorders: planRecorders(options, { fleet, index, role, window, zone: depot.timeZone }),
    inspectionDue: isoDate(inspectionMs, depot.timeZone),
    inspectionMs,
    random,
  };
}

export function vehicleId(index: number): string {
  return `KV-${101 + index}`;
}

function windowOf(options: ResolvedOptions, zone: string): Window {
  const weeks = weeksOf(options);
  return {
    weeks,
    startMs: weekDayMs(options.start, 0, zone),
    endMs: weekDayMs(addWeeks(options.start, weeks.length), 0, zone),
  };
}

function pickClass(draw: RandomStream, allowed: readonly VehicleClassId[] | undefined): VehicleClassId {
  const rows = VEHICLE_CLASSES.filter((row) => !allowed || allowed.includes(row.id));
  return draw.weighted(rows.map((row) => ({ id: row.id, weight: row.share }))).id;
}

/** First block: ripe in the last week, breaks down just after it. Later blocks: anywhere in the window. */
function planFault(draw: RandomStream, kind: FaultPlan['kind'], window: Window, index: number): FaultPlan {
  const growthDays = draw.range(24, 45);
  const ripe = window.endMs + draw.range(0.3, 2) * MS_PER_DAY;
  const anywhere = draw.range(window.startMs - 7 * MS_PER_DAY, window.endMs - 7 * MS_PER_DAY) + growthDays * MS_PER_DAY;
  const breakdownMs = Math.round(index < 24 ? ripe : anywhere);
  return {
    kind,
    startMs: Math.round(breakdownMs - growthDays * MS_PER_DAY),
    breakdownMs,
    repairedMs: Math.round(breakdownMs + draw.range(4, 9) * MS_PER_DAY),
    exponent: draw.range(0.7, 1.1),
  };
}

function planSensorFault(draw: RandomStream, role: RoleRow, window: Window): SensorFaultPlan | null {
  if (!role.sensorFault) return null;
  const late = Math.max(window.startMs, window.endMs - draw.range(10, 15) * MS_PER_DAY);
  switch (role.sensorFault) {
    case 'stuck_high':
      return { kind: 'stuck_high', fromMs: Math.round(late), value: 118 };
    case 'open_circuit':
      return { kind: 'open_circuit', fromMs: Math.round(late), value: -40 };
    case 'drift':
      return { kind: 'drift', fromMs: window.startMs - 4 * MS_PER_DAY, value: draw.range(0.7, 1.1) };
    case 'wrong_unit':
      return { kind: 'wrong_unit', fromMs: window.startMs - 90 * MS_PER_DAY, value: 0 };
  }
}

function planCodeFault(draw: RandomStream, role: RoleRow, fuel: 'gas' | 'diesel'): CodeFaultPlan | null {
  const row = draw.pick(OTHER_CODES.filter((code) => code.fuel === fuel));
  if (role.returningCode) return { code: row.code, module: 'engine', share: row.share, old: true };
  if (role.hiddenClear) return { code: row.code, module: 'engine', share: 0.6, old: true };
  if (role.id === 'healthy' && draw.chance(0.15)) return { code: row.code, module: 'engine', share: 0.3, old: false };
  return null;
}

/** Noon of the inspection day: in the last week for the hidden clear, else spread over the weeks after the window. */
function planInspection(draw: RandomStream, role: RoleRow, window: Window, zone: string): number {
  const week = window.weeks.at(-1) as string;
  const days = role.hiddenClear ? 4 : draw.chance(0.2) ? draw.int(0, 4) : draw.int(7, 90);
  return wallClockMs({ week, days, zone }, 12);
}
