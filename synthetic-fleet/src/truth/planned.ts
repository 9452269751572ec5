import { isoInstant } from '../calendar.js';
import { type FaultPlan, faultKind } from '../faults/kinds.js';
import type { SensorFaultPlan } from '../faults/sensor.js';
import type { VehiclePlan } from '../fleet/plan.js';
import type { FaultTruth, VehicleTruth } from './document.js';

type Lived = 'weeks' | 'drives' | 'codes' | 'clears' | 'readiness';

/** The part of the truth that was decided before the first drive. */
export function plannedTruth(plan: VehiclePlan): Omit<VehicleTruth, Lived> {
  return {
    id: plan.id,
    vehicleClass: plan.vehicleClass.id,
    depot: plan.depot.id,
    timeZone: plan.depot.timeZone,
    role: plan.role.id,
    plantedOverheater: plan.faults.some((fault) => faultKind(fault.kind).overheats),
    badCoolantSensor: plan.sensorFault !== null,
    hasCoolantChannel: !plan.role.withoutCoolant,
    faults: plan.faults.map(faultTruth),
    sensorFaults: plan.sensorFault ? [sensorTruth(plan.sensorFault)] : [],
  };
}

function faultTruth(fault: FaultPlan): FaultTruth {
  const { signal, overheats } = faultKind(fault.kind);
  return {
    kind: fault.kind,
    signal,
    overheats,
    start: isoInstant(fault.startMs),
    breakdown: isoInstant(fault.breakdownMs),
    repaired: isoInstant(fault.repairedMs),
    exponent: fault.exponent,
  };
}

function sensorTruth(fault: SensorFaultPlan): VehicleTruth['sensorFaults'][number] {
  const value = fault.kind === 'wrong_unit' ? null : fault.value;
  return { kind: fault.kind, signal: 'coolant_temp_c', from: isoInstant(fault.fromMs), value };
}
