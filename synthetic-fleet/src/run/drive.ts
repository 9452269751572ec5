import { offsetMinutes } from '../calendar.js';
import { FeatureMeter } from '../codes/features.js';
import { conditionAt } from '../faults/kinds.js';
import { coolantReading } from '../faults/sensor.js';
import { fleetStream, type VehiclePlan } from '../fleet/plan.js';
import type { RecorderPlan } from '../fleet/recorders.js';
import type { DrivePlan } from '../fleet/schedule.js';
import type { ResolvedOptions } from '../options.js';
import { DriveSimulation } from '../physics/drive.js';
import { planLegs, Route } from '../physics/route.js';
import type { Carried, DriveState, VehicleModel } from '../physics/state.js';
import { ambientAt, baroKpaAt } from '../physics/weather.js';
import type { RowContext } from '../recorder/channel-row.js';
import { LogWriter } from '../recorder/log.js';
import { drawQuirks, type LogQuirks, QUIRK_KINDS } from '../recorder/quirks.js';
import { recorderChannels } from '../recorder/selection.js';
import type { ExposureMeter } from '../truth/exposure.js';

/** Sees every state of a drive, ten a second, and what the coolant sensor reads. The objects are reused: copy what stays. */
export type StateWatcher = (state: DriveState, context: RowContext) => void;

/** Everything that one drive starts from; the same setup always gives the same bytes. */
export interface DriveSetup {
  options: ResolvedOptions;
  plan: VehiclePlan;
  drive: DrivePlan;
  carried: Carried;
  soakHours: number;
  counters: { lampKm: number; km: number; minutes: number; warmUps: number };
  recorder: RecorderPlan;
}

/** The ten-minute vehicle runs on a day that would make any of them warm. */
const TEN_MINUTES_C = 39;

/** Builds the simulation of a drive from its plan. */
export function driveSimulation(setup: DriveSetup): DriveSimulation {
  const { plan, drive, options } = setup;
  const random = plan.random.split('drive', drive.ordinal);
  const fleet = fleetStream(options);
  const hour = [0, 3_600_000].map((later) => ambientAt(plan, fleet, drive.startMs + later)) as [number, number];
  const ambientC = plan.role.tenMinutes ? TEN_MINUTES_C : hour[0];
  const legs = planLegs(plan.vehicleClass, drive, random.split('legs'));
  return new DriveSimulation({
    model: vehicleModel(plan, drive.startMs),
    carried: setup.carried,
    route: new Route(legs, random.split('road')),
    ambientC,
    ambientKPerHour: hour[1] - hour[0],
    keyOnSeconds: random.split('key').int(1, 4),
    trailerKg: drive.trailerKg,
    elevationM: plan.depot.elevationM,
    latitude: plan.depot.latitude,
    longitude: plan.depot.longitude,
    headingDeg: random.split('heading').int(0, 359),
    airConditioning: ambientC > 23 ? 1 : 0.2,
  });
}

export function vehicleModel(plan: VehiclePlan, ms: number): VehicleModel {
  return {
    row: plan.vehicleClass,
    massKg: plan.massKg,
    condition: conditionAt(plan.faults, ms),
    baroKpa: baroKpaAt(plan.depot.elevationM),
  };
}

export function driveQuirks(setup: DriveSetup): LogQuirks {
  const { plan, drive, recorder } = setup;
  const random = plan.random.split('quirks', drive.ordinal);
  const must =
    drive.ordinal === 1 ? (QUIRK_KINDS[plan.index % QUIRK_KINDS.length] as (typeof QUIRK_KINDS)[number]) : null;
  return drawQuirks(random, drive.seconds, recorder.rateHz, must);
}

/** Runs one drive: writes its log, and shows every state to the truth and to the vehicle's control module. */
export class DriveRun {
  readonly simulation: DriveSimulation;
  readonly log: LogWriter;
  readonly features: FeatureMeter;
  readonly quirks: LogQuirks;
  bytes = 0;
  readonly #context: RowContext;
  #done = false;

  constructor(
    readonly setup: DriveSetup,
    readonly exposure: ExposureMeter | null,
    readonly watch: StateWatcher | null = null,
  ) {
    const { plan, drive, recorder, soakHours } = setup;
    this.simulation = driveSimulation(setup);
    this.quirks = driveQuirks(setup);
    this.#context = this.#startContext();
    const { state } = this.simulation;
    this.features = new FeatureMeter({ soakHours, ambientC: state.ambientC, startCoolantC: state.coolantC });
    const offset = offsetMinutes(drive.startMs, plan.depot.timeZone);
    this.log = new LogWriter({
      dialect: recorder.dialect,
      channels: recorderChannels(plan, recorder),
      identity: {
        recorder: recorder.serial,
        vehicle: plan.id,
        vin: plan.vin,
        startMs: drive.startMs,
        offsetMinutes: offset,
        rateHz: recorder.rateHz,
      },
      startMs: drive.startMs,
      offsetMinutes: offset,
      rateHz: recorder.rateHz,
      quirks: this.quirks,
      sensorFault: plan.sensorFault?.kind ?? null,
      idealSensors: setup.options.idealSensors,
      random: plan.random.split('log', drive.ordinal),
    });
  }

  get endMs(): number {
    return this.setup.drive.startMs + this.simulation.ticks * 100;
  }

  /** The log's bytes; the drive happens while they are pulled. A second call goes on where the first was left. */
  *chunks(): Generator<Uint8Array> {
    const { simulation, features, exposure } = this;
    const { state } = simulation;
    while (!this.#done && simulation.tick()) {
      exposure?.observe(state);
      features.observe(state);
      this.#update(this.#context);
      this.watch?.(state, this.#context);
      const bytes = this.log.tick(state, this.#context);
      if (bytes) yield this.#counted(bytes);
    }
    if (this.#done) return;
    this.#done = true;
    exposure?.endDrive();
    features.features.km = state.odometerKm - this.setup.carried.odometerKm;
    const open = this.setup.plan.sensorFault?.kind === 'open_circuit' && this.#context.coolantReadingC === -40;
    features.features.sensorOpen = open;
    yield this.#counted(this.log.finish());
  }

  /** Lets the rest of the drive happen although nobody wants its bytes. */
  finish(): void {
    for (const _ of this.chunks());
  }

  #counted(bytes: Uint8Array): Uint8Array {
    this.bytes += bytes.length;
    return bytes;
  }

  #startContext(): RowContext {
    const { plan, counters } = this.setup;
    return {
      vehicle: plan.vehicleClass,
      coolantReadingC: 0,
      lampKm: counters.lampKm,
      sinceClearKm: counters.km,
      sinceClearMinutes: counters.minutes,
      warmUpsSinceClear: counters.warmUps,
    };
  }

  #update(context: RowContext): void {
    const { state } = this.simulation;
    const { plan, drive, counters, carried } = this.setup;
    context.coolantReadingC = coolantReading(plan.sensorFault, state.coolantC, drive.startMs + state.clockS * 1000);
    const km = state.odometerKm - carried.odometerKm;
    context.sinceClearKm = counters.km + km;
    context.sinceClearMinutes = counters.minutes + state.runS / 60;
    if (counters.lampKm > 0) context.lampKm = counters.lampKm + km;
  }
}
