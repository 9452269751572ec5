import { exhaustHeatW } from './airpath.js';
import type { DriveState, VehicleModel } from './state.js';

/** Above this a pressurised system vents; the heat leaves with the steam. */
const BOIL_C = 123;
const BOIL_WK = 6000;
const THERMOSTAT_LAG_S = 18;
const FAN_LAG_S = 25;
const THERMOSTAT_HYSTERESIS_K = 2;

/**
 * One explicit step of the lumped heat balance. Nodes: coolant with the block's wetted metal, engine oil, transmission
 * fluid. Sources: what the fuel leaves beside brake work, and transmission losses. Sinks: radiator (thermostat, airflow
 * from ram and fan), block and sump to air, transmission cooler. `ledger` books every joule.
 */
export function stepThermal(state: DriveState, model: VehicleModel, dt: number): void {
  stepControls(state, model, dt);
  const heat = splitHeat(state, model);
  const flow = heatFlows(state, model);
  const { row } = model;
  const fill = state.coolantLevelPct / 100;
  state.coolantC +=
    ((heat.coolantW + flow.oilToCoolantW - flow.radiatorW - flow.blockW) * dt) / (row.coolantJK * (0.55 + 0.45 * fill));
  state.oilC += ((heat.oilW - flow.oilToCoolantW - flow.sumpW) * dt) / row.oilJK;
  state.transC += ((heat.transW - flow.transW) * dt) / row.transJK;
  const { ledger } = state;
  ledger.fuelJ += state.fuelKw * 1000 * dt;
  ledger.brakeJ += state.brakeKw * 1000 * dt;
  ledger.exhaustJ += heat.exhaustW * dt;
  ledger.surfaceJ += (heat.surfaceW + flow.blockW) * dt;
  ledger.radiatorJ += flow.radiatorW * dt;
  ledger.sumpJ += flow.sumpW * dt;
  ledger.transInJ += heat.transW * dt;
  ledger.transOutJ += flow.transW * dt;
  stepTransmissionLoss(state, model);
}

/** Wax thermostat and viscous fan clutch, both slow, the thermostat with hysteresis. */
function stepControls(state: DriveState, model: VehicleModel, dt: number): void {
  const [startsC, fullC] = model.row.thermostatC;
  const opening = state.thermostat;
  const wants = (temperatureC: number) => Math.max(0, Math.min(1, (temperatureC - startsC) / (fullC - startsC)));
  const rising = wants(state.coolantC);
  const falling = wants(state.coolantC + THERMOSTAT_HYSTERESIS_K);
  const target = Math.min(falling, Math.max(rising, opening));
  state.thermostat += (target - opening) * (dt / THERMOSTAT_LAG_S);
  state.fanSenseC += (state.coolantC - state.fanSenseC) * (dt / FAN_LAG_S);
  const warm = Math.max(0, Math.min(1, (state.fanSenseC - 95) / 9));
  state.fan = (0.12 + 0.88 * warm) * model.condition.fan;
  state.fanRpm = state.fan * state.engineRpm * 1.05;
  state.airflow = model.row.ramPerKmh * state.speedMs * 3.6 + model.row.fanAtRated * (state.fanRpm / 2000);
}

function splitHeat(state: DriveState, model: VehicleModel) {
  const { row } = model;
  const allW = (state.fuelKw - state.brakeKw) * 1000;
  const exhaustW = exhaustHeatW(state, model);
  const oilW = row.heatToOil * allW;
  const surfaceW = row.heatToSurface * allW;
  return { exhaustW, oilW, surfaceW, coolantW: allW - exhaustW - oilW - surfaceW, transW: state.transLossKw * 1000 };
}

function heatFlows(state: DriveState, model: VehicleModel) {
  const { row, condition } = model;
  const opening = Math.max(condition.thermostatMin, Math.min(condition.thermostatMax, state.thermostat));
  const pump = Math.sqrt(0.3 + 0.7 * Math.min(1, state.engineRpm / (0.45 * row.ratedRpm)));
  const radiatorWK = row.radiatorWK * condition.radiator * (0.03 + state.airflow ** 0.6) * pump * opening;
  const intoC = state.ambientC + 2 + 4 * state.airConditioning;
  const wind = 1 + state.speedMs / 18;
  const boilW = Math.max(0, state.coolantC - BOIL_C) * BOIL_WK;
  const bypass = Math.max(0.05, Math.min(1, (state.transC - 76) / 16));
  const coolerAir = 0.35 + 0.65 * Math.min(1, state.airflow);
  const oilFlow = Math.min(1.4, 0.35 + state.engineRpm / (0.55 * row.ratedRpm));
  return {
    radiatorW: radiatorWK * (state.coolantC - intoC),
    blockW: 0.5 * row.sumpWK * wind * (state.coolantC - state.ambientC) + boilW,
    oilToCoolantW: row.oilCoolerWK * oilFlow * (state.oilC - state.coolantC),
    sumpW: row.sumpWK * wind * (state.oilC - state.ambientC),
    transW: (row.transCoolerWK * bypass * coolerAir + 0.3 * row.sumpWK * wind) * (state.transC - intoC),
  };
}

/** Heat made in the transmission [kW]: gears, churning, converter slip, slipping clutches. */
function stepTransmissionLoss(state: DriveState, model: VehicleModel): void {
  const churnKw = 0.009e-3 * model.row.transJK * (state.engineRpm / 1000);
  const slipRpm = state.locked ? 0 : Math.max(0, state.engineRpm - state.turbineRpm);
  const converter = state.engineRpm > 0 ? Math.min(0.6, slipRpm / state.engineRpm) * 0.45 : 0;
  const slipping = model.condition.slip * Math.min(1, state.load * 1.6);
  const idleDragKw =
    state.speedMs < 0.3 && state.pumpKw === 0 ? 0.004 * model.row.peakTorqueNm * (state.engineRpm / 1000) * 0.5 : 0;
  const inKw = Math.max(0, state.transInKw - state.transLossKw);
  state.transLossKw = churnKw + inKw * (0.035 + converter + slipping) + idleDragKw;
}
