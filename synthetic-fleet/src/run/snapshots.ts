import type { SnapshotInput } from '@tallybay/contracts';
import { isoInstant } from '../calendar.js';
import type { CodeMachine } from '../codes/machine.js';
import type { VehiclePlan } from '../fleet/plan.js';
import type { ReadinessTruth } from '../truth/document.js';

/** A snapshot as a shop's reader writes it; `quick` readers skip pending and permanent codes. */
export function makeSnapshot(
  plan: VehiclePlan,
  machine: CodeMachine,
  at: { ms: number; odometerKm: number; engineHoursH: number; quick: boolean },
): SnapshotInput {
  const { counters } = machine;
  const codes = machine.codes().filter((code) => !at.quick || code.status === 'confirmed');
  return {
    vehicle: plan.id,
    vin: plan.vin,
    time: isoInstant(at.ms),
    odometerKm: Math.round(at.odometerKm * 10) / 10,
    engineHours: Math.round(at.engineHoursH * 20) / 20,
    lampOn: machine.lampOn,
    ignition: plan.vehicleClass.fuel === 'gas' ? 'spark' : 'compression',
    codes,
    read: at.quick
      ? ['confirmed', 'lamp', 'monitors', 'counters']
      : ['pending', 'confirmed', 'permanent', 'lamp', 'monitors', 'counters'],
    monitors: machine.monitors(),
    counters: {
      warmUpsSinceClear: counters.warmUps,
      distanceSinceClearKm: Math.floor(counters.km),
      minutesSinceClear: Math.floor(counters.minutes),
      distanceWithLampKm: Math.floor(counters.lampKm),
      minutesWithLamp: Math.floor(counters.lampMinutes),
    },
  };
}

export function readinessTruth(plan: VehiclePlan, machine: CodeMachine): ReadinessTruth {
  const incomplete = machine.incomplete();
  return {
    lampOn: machine.lampOn,
    confirmed: machine.confirmed,
    incomplete,
    warmUpsSinceClear: machine.counters.warmUps,
    distanceSinceClearKm: Math.floor(machine.counters.km),
    federal: federalVerdict(plan.modelYear, machine.lampOn, incomplete.length),
  };
}

/** 40 CFR 85.2207 for the lamp; counts of incomplete monitors as in EPA420-R-01-015 (2001), from memory. */
function federalVerdict(modelYear: number, lampOn: boolean, incomplete: number): ReadinessTruth['federal'] {
  if (modelYear < 1996) return 'not_subject';
  if (lampOn) return 'fail';
  return incomplete > (modelYear <= 2000 ? 2 : 1) ? 'refused' : 'pass';
}
