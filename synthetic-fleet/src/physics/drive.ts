import { stepAirPath } from './airpath.js';
import { stepPowertrain } from './powertrain.js';
import type { Route } from './route.js';
import type { Carried, DriveState, VehicleModel } from './state.js';
import { startState } from './state.js';
import { stepThermal } from './thermal.js';

/** Step of the simulation and of the truth [s]. */
export const TICK_S = 0.1;
export const TICKS_PER_SECOND = 10;
const METRES_PER_DEGREE = 111_320;

export interface DriveSetup {
  model: VehicleModel;
  carried: Carried;
  route: Route;
  /** Air temperature at the start and its change per hour. */
  ambientC: number;
  ambientKPerHour: number;
  keyOnSeconds: number;
  trailerKg: number;
  elevationM: number;
  latitude: number;
  longitude: number;
  headingDeg: number;
  airConditioning: number;
}

/** One drive from key on to key off at ten steps a second. `tick` moves the state on and says whether it still runs. */
export class DriveSimulation {
  readonly state: DriveState;
  readonly ticks: number;
  #tick = 0;

  constructor(readonly setup: DriveSetup) {
    this.state = startState(setup.carried, setup.model, setup.ambientC);
    Object.assign(this.state, {
      trailerKg: setup.trailerKg,
      altitudeM: setup.elevationM,
      latitude: setup.latitude,
      longitude: setup.longitude,
      headingDeg: setup.headingDeg,
      airConditioning: setup.airConditioning,
    });
    this.ticks = Math.round((setup.keyOnSeconds + setup.route.seconds) * TICKS_PER_SECOND);
  }

  /** True while there is a state to record; the first call yields the state at second 0. */
  tick(): boolean {
    if (this.#tick >= this.ticks) return false;
    const { state } = this;
    state.clockS = this.#tick / TICKS_PER_SECOND;
    if (state.clockS >= this.setup.keyOnSeconds) this.#run();
    this.#tick += 1;
    return true;
  }

  #run(): void {
    const { state, setup } = this;
    const { model } = setup;
    if (!state.running) {
      state.running = true;
      state.engineRpm = model.row.idleRpm * 0.6;
    }
    if (this.#tick % TICKS_PER_SECOND === 0) this.#eachSecond();
    stepPowertrain(state, model, TICK_S);
    stepAirPath(state, model, TICK_S);
    stepThermal(state, model, TICK_S);
    state.runS += TICK_S;
    state.engineHoursH += TICK_S / 3600;
  }

  #eachSecond(): void {
    const { state, setup } = this;
    setup.route.advance(state);
    state.ambientC = setup.ambientC + (setup.ambientKPerHour * state.clockS) / 3600;
    state.altitudeM += (state.speedMs * state.gradePct) / 100;
    const heading = (state.headingDeg * Math.PI) / 180;
    state.latitude += (state.speedMs * Math.cos(heading)) / METRES_PER_DEGREE;
    state.longitude +=
      (state.speedMs * Math.sin(heading)) / (METRES_PER_DEGREE * Math.cos((state.latitude * Math.PI) / 180));
    slowQuantities(state, setup.model);
  }
}

/** Quantities that follow the state without feeding back into it. */
function slowQuantities(state: DriveState, model: VehicleModel): void {
  const thin = Math.exp(-(state.oilC - 90) / 75);
  const pumpKpa = (130_000 / model.row.ratedRpm) * 2.4 * (state.engineRpm / 1000) * Math.min(2.5, thin);
  state.oilKpa = Math.min(model.row.fuel === 'diesel' ? 480 : 440, 55 + pumpKpa * 0.9);
  state.coolantKpa = Math.max(0, Math.min(110, (state.coolantC - 60) * 1.6)) * (state.coolantLevelPct > 60 ? 1 : 0.45);
  state.batteryV =
    14.25 - 0.12 * state.airConditioning - 0.35 * Math.min(1, state.fan) * 0.3 - Math.max(0, 35 - state.runS) * 0.006;
}

/** Temperatures after standing for `hours`: nodes relax to the air, the coolant first soaks up heat from the metal. */
export function soak(state: Carried, hours: number, airC: number): Carried {
  const relax = (fromC: number, tauH: number) => airC + (fromC - airC) * Math.exp(-hours / tauH);
  const heatSoakK = state.coolantC > 70 ? 4 * Math.exp(-hours / 0.3) : 0;
  return {
    coolantC: relax(state.coolantC, 2.1) + heatSoakK,
    oilC: relax(state.oilC, 2.3),
    transC: relax(state.transC, 2.6),
    odometerKm: state.odometerKm,
    engineHoursH: state.engineHoursH,
    fuelL: state.fuelL,
    sootPct: state.sootPct,
  };
}
