import { isoInstant, MS_PER_DAY, MS_PER_HOUR, weekDayMs } from '../calendar.js';
import { CodeMachine } from '../codes/machine.js';
import { severityAt } from '../faults/kinds.js';
import { fleetStream, type VehiclePlan } from '../fleet/plan.js';
import type { RecorderPlan } from '../fleet/recorders.js';
import { type DrivePlan, scheduleDrives } from '../fleet/schedule.js';
import type { ResolvedOptions } from '../options.js';
import { soak } from '../physics/drive.js';
import type { Carried } from '../physics/state.js';
import { ambientAt } from '../physics/weather.js';
import type { DriveTruth, ReadinessTruth, VehicleTruth, WeekTruth } from '../truth/document.js';
import { ExposureMeter, hotSignals, rounded } from '../truth/exposure.js';
import type { LogEntry, SnapshotEntry } from '../truth/manifest.js';
import { plannedTruth } from '../truth/planned.js';
import { DriveRun, type DriveSetup, type StateWatcher } from './drive.js';
import { logEntry, logPath } from './entry.js';
import { makeSnapshot, readinessTruth } from './snapshots.js';

export type VehicleFile =
  | { kind: 'log'; path: string; chunks: Iterable<Uint8Array>; entry: () => LogEntry }
  | { kind: 'snapshot'; path: string; chunks: Iterable<Uint8Array>; entry: () => SnapshotEntry };

interface WeekSums {
  week: string;
  engineS: number;
  km: number;
  fuelL: number;
  drives: number;
}

const SNAPSHOT_SHARE = 0.55;
const QUICK_READER_SHARE = 0.1;
/** A hidden clear comes this long before the inspection. */
const HIDE_HOURS = 20;

/** The life of one vehicle through the window: drives, codes, shop, snapshots, and the truth about all of it. */
export class VehicleLife {
  readonly machine: CodeMachine;
  readonly #weekly: VehicleTruth['readiness']['weekly'] = [];
  readonly #weeks: WeekTruth[] = [];
  readonly #drives: DriveTruth[] = [];
  readonly #clears: VehicleTruth['clears'] = [];
  #inspection: ReadinessTruth | null = null;
  #carried: Carried;
  #lastEndMs: number;
  #exposure = new ExposureMeter();
  #week: WeekSums | null = null;
  #drivesSinceConfirmed = 0;

  constructor(
    readonly options: ResolvedOptions,
    readonly plan: VehiclePlan,
    /** Called at each drive; what it returns sees the drive's states. For evaluations that need no files. */
    readonly watchDrive: (setup: DriveSetup) => StateWatcher | null = () => null,
  ) {
    const draw = plan.random.split('start');
    this.machine = new CodeMachine(plan.vehicleClass.fuel, draw.split('codes'));
    const age = 2026 - plan.modelYear + draw.range(0.2, 1);
    const hours = age * draw.range(350, 620);
    this.#carried = {
      coolantC: 20,
      oilC: 20,
      transC: 20,
      odometerKm: Math.round(hours * draw.range(32, 44)),
      engineHoursH: Math.round(hours),
      fuelL: draw.range(60, 100),
      sootPct: draw.range(15, 60),
    };
    this.#lastEndMs = plan.window.startMs - 2 * MS_PER_DAY;
    const old = plan.codeFault;
    if (old?.old) this.machine.confirmBefore(old.code, old.module, plan.window.startMs);
  }

  /** Files in the order in which they come about. A log's bytes must be pulled, or are made up for, before the next. */
  *files(): Generator<VehicleFile> {
    for (const drive of scheduleDrives(this.options, this.plan)) {
      this.#turnWeeks(drive.week);
      yield* this.#visitShop(drive.startMs);
      this.#inspectBefore(drive.startMs);
      yield* this.#drive(drive);
    }
    const { endMs } = this.plan.window;
    yield* this.#visitShop(endMs);
    this.#inspectBefore(endMs);
    this.#turnWeeks(null);
  }

  truth(): VehicleTruth {
    return {
      ...plannedTruth(this.plan),
      weeks: this.#weeks,
      drives: this.#drives,
      codes: this.machine.events,
      clears: this.#clears,
      readiness: { weekly: this.#weekly, inspection: { due: this.plan.inspectionDue, ...this.#inspection } },
    };
  }

  *#drive(drive: DrivePlan): Generator<VehicleFile> {
    const setup = this.#setup(drive);
    const run = new DriveRun(setup, this.#exposure, this.watchDrive(setup));
    const path = logPath(this.plan, setup.recorder, drive);
    yield logFile(run, path, null);
    run.finish();
    if (run.quirks.duplicated) yield logFile(new DriveRun(setup, null), path.replace(/(\.[a-z]+)$/, ' (copy)$1'), path);
    this.#finish(run, path);
    yield* this.#snapshots(run);
  }

  #setup(drive: DrivePlan): DriveSetup {
    const { plan, options } = this;
    const soakHours = Math.max(0.02, (drive.startMs - this.#lastEndMs) / MS_PER_HOUR);
    const airC = ambientAt(plan, fleetStream(options), drive.startMs);
    const carried = soak(this.#carried, soakHours, airC);
    if (plan.role.tenMinutes) Object.assign(carried, { coolantC: 98, oilC: 102, transC: 88 });
    if (carried.fuelL < 30) carried.fuelL = 98;
    const recorder = plan.recorders.find((row) => drive.startMs >= row.fromMs && drive.startMs < row.untilMs);
    const { lampKm, km, minutes, warmUps } = this.machine.counters;
    return {
      options,
      plan,
      drive,
      carried,
      soakHours,
      counters: { lampKm, km, minutes, warmUps },
      recorder: recorder as RecorderPlan,
    };
  }

  #finish(run: DriveRun, log: string): void {
    const { state } = run.simulation;
    const { drive, carried } = run.setup;
    const { features } = run.features;
    const week = this.#week as WeekSums;
    const fault = this.plan.codeFault;
    const random = this.plan.random.split('after', drive.ordinal);
    const others = fault ? [{ code: fault.code, module: fault.module, failed: random.chance(fault.share) }] : [];
    this.machine.finishDrive(features, { atMs: run.endMs, random, others });
    this.#drivesSinceConfirmed = this.machine.confirmed.length > 0 ? this.#drivesSinceConfirmed + 1 : 0;
    week.engineS += features.runS;
    week.km += features.km;
    week.fuelL += Math.max(0, carried.fuelL - state.fuelL);
    week.drives += 1;
    this.#drives.push({
      week: drive.week,
      start: isoInstant(drive.startMs),
      end: isoInstant(run.endMs),
      engineSeconds: rounded(features.runS, 1),
      km: rounded(features.km, 3),
      log,
      maxCoolantC: rounded(features.maxCoolantC, 2),
    });
    const { coolantC, oilC, transC, odometerKm, engineHoursH, fuelL, sootPct } = state;
    this.#carried = { coolantC, oilC, transC, odometerKm, engineHoursH, fuelL, sootPct };
    this.#lastEndMs = run.endMs;
  }

  *#snapshots(run: DriveRun): Generator<VehicleFile> {
    const random = this.plan.random.split('snapshot', run.setup.drive.ordinal);
    if (random.chance(SNAPSHOT_SHARE) || this.#week?.drives === 1)
      yield this.#snapshot(run.endMs + 5 * 60_000, random.chance(QUICK_READER_SHARE));
  }

  #snapshot(ms: number, quick: boolean): VehicleFile {
    const { odometerKm, engineHoursH } = this.#carried;
    const body = makeSnapshot(this.plan, this.machine, { ms, odometerKm, engineHoursH, quick });
    const at = isoInstant(ms);
    const path = `snapshots/${this.plan.id}_${at.slice(0, 19).replaceAll(':', '')}Z.json`;
    const entry = () => ({ kind: 'snapshot' as const, file: path, vehicle: this.plan.id, at });
    return { kind: 'snapshot', path, chunks: [Buffer.from(`${JSON.stringify(body, null, 1)}\n`)], entry };
  }

  /** The shop before a drive: clears a confirmed code without repair, by habit or to get through the inspection. */
  *#visitShop(beforeMs: number): Generator<VehicleFile> {
    const { plan, machine } = this;
    const hideMs = plan.inspectionMs - HIDE_HOURS * MS_PER_HOUR;
    const hides = plan.shop === 'hides' && this.#clears.length === 0 && beforeMs > hideMs;
    const habit = plan.shop === 'clears' && this.#drivesSinceConfirmed >= 2 && beforeMs < plan.window.endMs;
    if (!hides && !habit) return;
    const atMs = hides ? Math.max(hideMs, this.#lastEndMs + MS_PER_HOUR / 2) : beforeMs - MS_PER_HOUR / 2;
    if (machine.confirmed.length === 0) return;
    yield this.#snapshot(atMs - 10 * 60_000, false);
    machine.clear(atMs);
    this.#drivesSinceConfirmed = 0;
    this.#clears.push({ at: isoInstant(atMs), hidden: hides });
    yield this.#snapshot(atMs + 10 * 60_000, false);
  }

  #inspectBefore(ms: number): void {
    if (this.#inspection || ms < this.plan.inspectionMs || this.plan.inspectionMs >= this.plan.window.endMs) return;
    this.#inspection = readinessTruth(this.plan, this.machine);
  }

  /** Closes the current week and every empty one before `next`; null closes the window. */
  #turnWeeks(next: string | null): void {
    const { weeks } = this.plan.window;
    const until = next === null ? weeks.length : weeks.indexOf(next);
    while (this.#weeks.length < until) {
      this.#closeWeek(weeks[this.#weeks.length] as string);
      this.#week = null;
    }
    if (next !== null && this.#week === null) this.#week = { week: next, engineS: 0, km: 0, fuelL: 0, drives: 0 };
  }

  #closeWeek(week: string): void {
    const zone = this.plan.depot.timeZone;
    const toMs = weekDayMs(week, 7, zone);
    const exposure = this.#exposure.result();
    const sums = this.#week?.week === week ? this.#week : { engineS: 0, km: 0, fuelL: 0, drives: 0 };
    this.#weeks.push({
      week,
      from: isoInstant(weekDayMs(week, 0, zone)),
      to: isoInstant(toMs),
      engineHours: rounded(sums.engineS / 3600, 4),
      km: rounded(sums.km, 2),
      fuelL: rounded(sums.fuelL, 2),
      drives: sums.drives,
      severity: rounded(Math.max(0, ...this.plan.faults.map((fault) => severityAt(fault, toMs - 1))), 3),
      hot: hotSignals(exposure),
      exposure,
    });
    this.#weekly.push({ week, ...readinessTruth(this.plan, this.machine) });
    this.#exposure = new ExposureMeter();
  }
}

function logFile(run: DriveRun, path: string, duplicateOf: string | null): VehicleFile {
  const entry = () => {
    run.finish();
    return logEntry(run, { path, duplicateOf });
  };
  return { kind: 'log', path, chunks: run.chunks(), entry };
}
