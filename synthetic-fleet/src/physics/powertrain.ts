import type { DriveState, VehicleModel } from './state.js';

const GRAVITY = 9.81;
const AIR_DENSITY_SEA = 1.19;
const DRIVELINE_EFFICIENCY = 0.93;
const RPM_PER_RADS = 60 / (2 * Math.PI);

/** Speed, gear, engine speed, torque and fuel power for the next `dt` seconds, from what the driver wants. */
export function stepPowertrain(state: DriveState, model: VehicleModel, dt: number): void {
  stepGear(state, model, dt);
  stepEngineSpeed(state, model, dt);
  const available = availableTorque(state, model);
  state.availableTorqueNm = available;
  const frictionKw = friction(model, state.engineRpm);
  const hotelKw = hotelPower(state, model);
  const wheelKw = stepSpeed(state, model, {
    dt,
    engineKw: (available * state.engineRpm) / RPM_PER_RADS / 1000,
    hotelKw,
  });
  splitPower(state, { wheelKw, hotelKw, frictionKw, available });
  state.fuelKw = state.indicatedKw / model.row.indicatedEfficiency;
  state.odometerKm += (state.speedMs * dt) / 1000;
}

/** Power that does not reach the wheels: fan, alternator, air conditioning, pump. */
function hotelPower(state: DriveState, model: VehicleModel): number {
  const fanKw = model.row.fanKw * (state.fanRpm / 2000) ** 3;
  return (
    model.row.accessoryKw * (0.6 + 0.9 * state.airConditioning) + Math.min(fanKw, 2 * model.row.fanKw) + state.pumpKw
  );
}

function friction(model: VehicleModel, rpm: number): number {
  const krpm = rpm / 1000;
  return model.row.frictionKw[0] * krpm + model.row.frictionKw[1] * krpm * krpm;
}

/** Full-load torque [Nm]: a broad hump, less air at height for engines without a turbo, less when protection derates. */
function availableTorque(state: DriveState, model: VehicleModel): number {
  const { row } = model;
  const peakAt = row.fuel === 'diesel' ? 0.62 * row.ratedRpm : 0.72 * row.ratedRpm;
  const off = (state.engineRpm - peakAt) / row.ratedRpm;
  const hump = Math.max(0.25, 1 - 0.9 * off * off);
  const air = row.turbo ? 1 - 0.35 * (1 - model.baroKpa / 101.3) : model.baroKpa / 101.3;
  const derate = Math.min(protect(state.coolantC, 117), protect(state.transC, 132));
  return row.peakTorqueNm * hump * air * derate;
}

/** Engine protection: from `fromC` on torque falls to half within 8 K. */
function protect(temperatureC: number, fromC: number): number {
  return Math.max(0.5, 1 - Math.max(0, temperatureC - fromC) / 16);
}

function stepGear(state: DriveState, model: VehicleModel, dt: number): void {
  const { row } = model;
  state.gearHeldS += dt;
  state.outputRpm = (state.speedMs / row.tyreRadiusM) * RPM_PER_RADS * row.finalDrive;
  if (state.gearHeldS < 1.5) return;
  const rpmIn = (gear: number) => state.outputRpm * (row.gears[gear - 1] as number);
  const work = Math.max(state.load, state.gradePct > 2 ? 0.55 : 0);
  const span = row.ratedRpm - row.idleRpm;
  const upAt = row.idleRpm + span * (0.3 + 0.42 * work);
  const downAt = row.idleRpm + span * (0.1 + 0.27 * work);
  const last = row.gears.length;
  if (state.gear < last && rpmIn(state.gear) > upAt && rpmIn(state.gear + 1) > downAt * 1.08) shift(state, 1);
  else if (state.gear > 1 && rpmIn(state.gear) < downAt && rpmIn(state.gear - 1) < row.ratedRpm * 0.95)
    shift(state, -1);
}

function shift(state: DriveState, by: 1 | -1): void {
  state.gear += by;
  state.gearHeldS = 0;
}

function stepEngineSpeed(state: DriveState, model: VehicleModel, dt: number): void {
  const { row } = model;
  state.turbineRpm = state.outputRpm * (row.gears[state.gear - 1] as number);
  state.locked = state.gear >= 2 && state.turbineRpm > 1.55 * row.idleRpm && state.gearHeldS > 0.8;
  const loose = state.locked
    ? 0
    : 0.42 * row.ratedRpm * Math.sqrt(Math.max(0.02, state.load)) * looseness(state, row.ratedRpm);
  const flare = state.turbineRpm * model.condition.slip * 0.8 * Math.min(1, state.load * 1.6);
  const cold = row.idleRpm * Math.max(0, 0.35 - Math.max(0, state.coolantC - 10) / 200);
  const pumping = state.pumpKw > 0 ? 0.68 * row.ratedRpm : 0;
  const wanted = Math.max(row.idleRpm + cold, state.turbineRpm + loose + flare, pumping);
  state.engineRpm += (Math.min(wanted, row.ratedRpm * 1.08) - state.engineRpm) * Math.min(1, dt / 0.35);
}

/** Converter slip falls off as the turbine comes up to speed. */
function looseness(state: DriveState, ratedRpm: number): number {
  return Math.max(0.08, 1 - state.turbineRpm / (0.55 * ratedRpm));
}

/** Moves the vehicle; returns power at the wheels [kW], negative when braking or rolling down. */
function stepSpeed(
  state: DriveState,
  model: VehicleModel,
  drive: { dt: number; engineKw: number; hotelKw: number },
): number {
  const mass = model.massKg + state.trailerKg;
  const resistance =
    mass * GRAVITY * (model.row.rollingCoefficient * (state.speedMs > 0.1 ? 1 : 0) + state.gradePct / 100) +
    0.5 * AIR_DENSITY_SEA * (model.baroKpa / 101.3) * model.row.dragAreaM2 * state.speedMs ** 2;
  let acceleration = Math.max(-2, Math.min(1.3, 0.35 * (state.targetMs - state.speedMs)));
  const loss = 1 - model.condition.slip * Math.min(1, state.load * 1.6);
  const limitKw = Math.max(0, (drive.engineKw - drive.hotelKw) * DRIVELINE_EFFICIENCY * loss - state.transLossKw * 0.5);
  const limitN = (limitKw * 1000) / Math.max(2.2, state.speedMs);
  if (mass * acceleration + resistance > limitN) acceleration = (limitN - resistance) / mass;
  const before = state.speedMs;
  state.speedMs = Math.max(0, before + acceleration * drive.dt);
  state.accelerationMs2 = (state.speedMs - before) / drive.dt;
  if (state.speedMs === 0) return 0;
  return ((mass * state.accelerationMs2 + resistance) * state.speedMs) / 1000;
}

function splitPower(
  state: DriveState,
  power: { wheelKw: number; hotelKw: number; frictionKw: number; available: number },
): void {
  const radS = state.engineRpm / RPM_PER_RADS;
  const pulling = power.wheelKw > 0;
  state.transInKw = pulling ? power.wheelKw / DRIVELINE_EFFICIENCY + state.transLossKw : 0;
  const engineBrakeKw = pulling ? 0 : Math.max(power.wheelKw * 0.6, -power.frictionKw);
  const overrun = !pulling && state.locked && state.speedMs > 6;
  state.brakeKw = overrun ? engineBrakeKw : state.transInKw + power.hotelKw;
  state.indicatedKw = Math.max(0, state.brakeKw + power.frictionKw);
  // On overrun the wheels turn the engine: what they cannot overcome is fuelled, the rest is fuel cut-off.
  if (overrun) state.brakeKw = state.indicatedKw - power.frictionKw;
  state.torqueNm = (state.brakeKw * 1000) / Math.max(radS, 30);
  const frictionNm = (power.frictionKw * 1000) / Math.max(radS, 30);
  state.load = Math.max(0, Math.min(1, (state.torqueNm + frictionNm) / (power.available + frictionNm)));
  state.pedal += ((pulling ? Math.max(0.03, state.load ** 1.15) : 0) - state.pedal) * 0.25;
}
