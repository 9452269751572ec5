import type { Condition } from '../faults/kinds.js';
import type { VehicleClassRow } from '../fleet/classes.js';

/** What does not change within one drive. */
export interface VehicleModel {
  row: VehicleClassRow;
  massKg: number;
  condition: Condition;
  baroKpa: number;
}

/** Joules since the start of the drive; lets a test close the energy balance without knowing the model's inside. */
export interface EnergyLedger {
  fuelJ: number;
  brakeJ: number;
  exhaustJ: number;
  surfaceJ: number;
  radiatorJ: number;
  sumpJ: number;
  transInJ: number;
  transOutJ: number;
}

/** The true physical state of one vehicle at one instant. Mutated in place by the simulation. */
export interface DriveState {
  /** Seconds since the key was turned. */
  clockS: number;
  running: boolean;
  runS: number;
  speedMs: number;
  accelerationMs2: number;
  targetMs: number;
  gradePct: number;
  altitudeM: number;
  latitude: number;
  longitude: number;
  headingDeg: number;
  pumpKw: number;
  trailerKg: number;
  airConditioning: number;
  engineRpm: number;
  gear: number;
  gearHeldS: number;
  locked: boolean;
  turbineRpm: number;
  outputRpm: number;
  brakeKw: number;
  indicatedKw: number;
  fuelKw: number;
  torqueNm: number;
  availableTorqueNm: number;
  /** 0..1 */
  load: number;
  pedal: number;
  transInKw: number;
  transLossKw: number;
  manifoldKpa: number;
  boostKpa: number;
  airGps: number;
  fuelGps: number;
  fuelLph: number;
  baroKpa: number;
  ambientC: number;
  intakeC: number;
  chargeC: number;
  exhaustC: number;
  coolantC: number;
  oilC: number;
  transC: number;
  fuelC: number;
  catalystC: number;
  /** 0..1 */
  thermostat: number;
  fan: number;
  fanRpm: number;
  airflow: number;
  fanSenseC: number;
  oilKpa: number;
  coolantKpa: number;
  coolantLevelPct: number;
  batteryV: number;
  odometerKm: number;
  engineHoursH: number;
  fuelL: number;
  sootPct: number;
  ledger: EnergyLedger;
}

/** What a vehicle carries from one drive to the next. */
export interface Carried {
  coolantC: number;
  oilC: number;
  transC: number;
  odometerKm: number;
  engineHoursH: number;
  fuelL: number;
  sootPct: number;
}

export function startState(carried: Carried, model: VehicleModel, ambientC: number): DriveState {
  return {
    clockS: 0,
    running: false,
    runS: 0,
    speedMs: 0,
    accelerationMs2: 0,
    targetMs: 0,
    gradePct: 0,
    altitudeM: 0,
    latitude: 0,
    longitude: 0,
    headingDeg: 0,
    pumpKw: 0,
    trailerKg: 0,
    airConditioning: 0,
    engineRpm: 0,
    gear: 1,
    gearHeldS: 0,
    locked: false,
    turbineRpm: 0,
    outputRpm: 0,
    brakeKw: 0,
    indicatedKw: 0,
    fuelKw: 0,
    torqueNm: 0,
    availableTorqueNm: model.row.peakTorqueNm,
    load: 0,
    pedal: 0,
    transInKw: 0,
    transLossKw: 0,
    manifoldKpa: model.baroKpa,
    boostKpa: 0,
    airGps: 0,
    fuelGps: 0,
    fuelLph: 0,
    baroKpa: model.baroKpa,
    ambientC,
    intakeC: ambientC,
    chargeC: ambientC,
    exhaustC: ambientC + 0.4 * Math.max(0, carried.coolantC - ambientC),
    catalystC: ambientC,
    fuelC: ambientC,
    thermostat: 0,
    fan: 0.12,
    fanRpm: 0,
    airflow: 0,
    fanSenseC: carried.coolantC,
    oilKpa: 0,
    coolantKpa: 0,
    coolantLevelPct: model.condition.coolantLevelPct,
    batteryV: 12.5,
    ...carried,
    ledger: {
      fuelJ: 0,
      brakeJ: 0,
      exhaustJ: 0,
      surfaceJ: 0,
      radiatorJ: 0,
      sumpJ: 0,
      transInJ: 0,
      transOutJ: 0,
    },
  };
}
