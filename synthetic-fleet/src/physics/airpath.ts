import type { DriveState, VehicleModel } from './state.js';

const GAS_J_PER_KG_K = 287;
const VOLUMETRIC = 0.9;
/** Lower heating values [MJ/kg] and energy per litre [kWh/L]: common values, from memory. */
const FUELS = {
  gas: { mjPerKg: 43.4, kwhPerL: 8.9, airRatio: 14.6 },
  diesel: { mjPerKg: 42.8, kwhPerL: 9.96, airRatio: 14.5 },
} as const;
const EXHAUST_CP = 1.13;

/** Air, boost, charge temperature, exhaust gas and the quantities that follow from them. */
export function stepAirPath(state: DriveState, model: VehicleModel, dt: number): void {
  const fuel = FUELS[model.row.fuel];
  state.fuelGps = state.fuelKw / fuel.mjPerKg;
  state.fuelLph = state.fuelKw / fuel.kwhPerL;
  state.fuelL = Math.max(4, state.fuelL - (state.fuelLph * dt) / 3600);
  state.intakeC += (state.ambientC + 3 + 14 / (1 + state.speedMs / 4) - state.intakeC) * (dt / 40);
  if (model.row.fuel === 'diesel') dieselAir(state, model, dt);
  else gasAir(state, model, fuel.airRatio);
  stepChargeAir(state, model, dt);
  stepExhaust(state, model, dt);
}

/** Air [g/s] at an absolute pressure, by speed and density. */
function speedDensity(state: DriveState, model: VehicleModel, kpa: number): number {
  const litresPerS = (model.row.displacementL / 2) * (state.engineRpm / 60) * VOLUMETRIC;
  return (litresPerS * kpa * 1000) / (GAS_J_PER_KG_K * (state.chargeC + 273.15));
}

function dieselAir(state: DriveState, model: VehicleModel, dt: number): void {
  const spin = Math.min(1, state.engineRpm / (0.6 * model.row.ratedRpm));
  const blocked = 1 - 0.25 * (1 - model.condition.chargeCooler);
  const wanted = model.row.boostKpa * state.load ** 0.9 * spin * blocked;
  state.boostKpa += (wanted - state.boostKpa) * Math.min(1, dt / 1.3);
  state.manifoldKpa = state.baroKpa + state.boostKpa;
  state.airGps = speedDensity(state, model, state.manifoldKpa);
}

function gasAir(state: DriveState, model: VehicleModel, airRatio: number): void {
  const oneKpa = speedDensity(state, model, 1);
  const ceilingKpa = state.baroKpa + model.row.boostKpa;
  const needed = state.fuelKw > 0.01 ? state.fuelGps * airRatio : oneKpa * 20;
  state.manifoldKpa = oneKpa > 0 ? Math.max(18, Math.min(ceilingKpa, needed / oneKpa)) : state.baroKpa;
  state.airGps = needed;
  state.boostKpa = Math.max(0, state.manifoldKpa - state.baroKpa);
}

/** Compressor outlet by isentropic rise at 72 % efficiency, then the cooler's effectiveness. */
function stepChargeAir(state: DriveState, model: VehicleModel, dt: number): void {
  if (!model.row.turbo) {
    state.chargeC = state.intakeC;
    return;
  }
  const ratio = Math.max(1, state.manifoldKpa / (state.baroKpa * 0.98));
  const compressorC = (state.intakeC + 273.15) * (1 + (ratio ** 0.283 - 1) / 0.72) - 273.15;
  const effective = model.row.chargeCooler * model.condition.chargeCooler * (0.8 + 0.2 * Math.min(1, state.airflow));
  const targetC = compressorC - effective * (compressorC - state.ambientC - 3);
  state.chargeC += (targetC - state.chargeC) * Math.min(1, dt / 7);
}

/** Heat that leaves with the exhaust gas [W]: a share of what the fuel leaves beside brake work; motoring heats little gas. */
export function exhaustHeatW(state: DriveState, model: VehicleModel): number {
  const [idle, full] = model.row.heatToExhaust;
  const leftKw = state.fuelKw - Math.max(0, state.brakeKw);
  if (state.fuelKw < 0.01) return 100 * (state.fuelKw - state.brakeKw);
  return (idle + (full - idle) * state.load) * leftKw * 1000;
}

function stepExhaust(state: DriveState, model: VehicleModel, dt: number): void {
  const flow = (state.airGps + state.fuelGps) * EXHAUST_CP;
  const exhaustW = exhaustHeatW(state, model);
  const targetC = flow > 0.5 ? state.chargeC + exhaustW / flow : state.ambientC;
  state.exhaustC += (targetC - state.exhaustC) * Math.min(1, dt / 6);
  state.catalystC += (state.exhaustC * 0.93 + 25 - state.catalystC) * Math.min(1, dt / 35);
  state.fuelC += (state.ambientC + 0.18 * (state.coolantC - state.ambientC) - state.fuelC) * (dt / 600);
  const sooty = model.row.fuel === 'diesel' ? 0.0012 * state.load - (state.exhaustC > 430 ? 0.006 : 0) : 0;
  state.sootPct = Math.max(5, Math.min(98, state.sootPct + sooty * dt));
}
