import { DateTime } from 'luxon';
import { isoInstant, MS_PER_DAY } from '../calendar.js';
import { type VehiclePlan, vehicleId } from '../fleet/plan.js';
import type { RecorderPlan } from '../fleet/recorders.js';
import type { DrivePlan } from '../fleet/schedule.js';
import type { LogEntry } from '../truth/manifest.js';
import type { DriveRun } from './drive.js';

/** Where a log lies: by recorder, as the cards come in; a log that nobody labelled lies apart. */
export function logPath(plan: VehiclePlan, recorder: RecorderPlan, drive: DrivePlan): string {
  const local = DateTime.fromMillis(drive.startMs, { zone: plan.depot.timeZone });
  const name =
    recorder.dialect.fileName === 'dated'
      ? `${local.toFormat('yyyy-MM-dd')}_trip${String(drive.ordinal + 1).padStart(3, '0')}_${recorder.serial}`
      : `${recorder.serial}_${local.toFormat('yyyyMMdd_HHmm')}`;
  const folder = misleads(plan, drive) === 'no_vehicle' ? 'unlabelled' : recorder.serial;
  return `logs/${folder}/${name}.csv`;
}

/** The first drive of the last week is the one whose upload misleads. */
function misleads(plan: VehiclePlan, drive: DrivePlan): 'no_vehicle' | 'contradiction' | null {
  const lastWeek = drive.week === plan.window.weeks.at(-1);
  return lastWeek && drive.firstOfWeek ? (plan.role.upload ?? null) : null;
}

export function logEntry(run: DriveRun, file: { path: string; duplicateOf: string | null }): LogEntry {
  const { plan, drive, recorder } = run.setup;
  const { result } = run.log;
  const wrong = misleads(plan, drive);
  const waits = wrong === 'no_vehicle' ? 'vehicle_missing' : wrong === 'contradiction' ? 'vehicle_contradiction' : null;
  const rejected = result.damagedRows + (result.cutRow ? 1 : 0);
  const sentMs = run.endMs + (file.duplicateOf ? 60 : 25) * 60_000 + run.quirks.lateWeeks * 7 * MS_PER_DAY;
  return {
    kind: 'log',
    file: file.path,
    vehicle: plan.id,
    recorder: recorder.serial,
    dialect: recorder.dialect.id,
    rateHz: recorder.rateHz,
    firstAt: result.firstMs === null ? null : isoInstant(result.firstMs),
    lastAt: result.lastMs === null ? null : isoInstant(result.lastMs),
    rows: result.rows,
    bytes: run.bytes,
    channels: result.channels,
    send: sendParameters(run, file.path, wrong),
    sentAt: isoInstant(sentMs),
    late: run.quirks.lateWeeks > 0,
    duplicateOf: file.duplicateOf,
    cutLastRow: result.cutRow,
    damagedRows: result.damagedRows,
    restarts: result.gaps,
    backwardSteps: result.backwardSteps,
    expect: {
      outcome: file.duplicateOf ? 'duplicate' : waits ? 'waiting' : 'stored',
      waitsFor: file.duplicateOf ? null : waits,
      rowsKept: result.rows - result.damagedRows,
      rowsRejected: rejected,
    },
  };
}

/** What the sender says: the recorder where it moves about, nothing where the log names its vehicle, else vehicle or recorder. */
function sendParameters(run: DriveRun, path: string, wrong: ReturnType<typeof misleads>): LogEntry['send'] {
  const { plan, drive, recorder } = run.setup;
  const { send, preamble } = recorder.dialect;
  const named = preamble
    ? {}
    : plan.role.recorderMove || plan.index % 2 === 1
      ? { recorder: recorder.serial }
      : { vehicle: plan.id };
  const other = vehicleId(plan.index === 0 ? 1 : plan.index - 1);
  const who = wrong === 'no_vehicle' ? {} : wrong === 'contradiction' ? { vehicle: other } : named;
  return {
    ...who,
    ...(send.timeZone ? { timeZone: plan.depot.timeZone } : {}),
    ...(send.recordedAt ? { recordedAt: isoInstant(run.log.result.firstMs ?? drive.startMs) } : {}),
    ...(send.fileName ? { fileName: path.slice(path.lastIndexOf('/') + 1) } : {}),
  };
}
