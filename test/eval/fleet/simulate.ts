import { plans, type ResolvedOptions, VehicleLife, type VehiclePlan } from '@tallybay/synthetic-fleet';
import type { EvalVehicle, RecordedDrive } from './eval-vehicle.js';
import { vehicleOf } from './eval-vehicle.js';
import { PhysicsRecorder } from './physics-recorder.js';
import { snapshotFact } from './snapshot-facts.js';
import { isLost, WORSE_RECORDERS, type WorseRecorders } from './worse-recorders.js';

/** Lives every vehicle of a fleet through its weeks without writing files. */
export function simulateFleet(options: ResolvedOptions, worse: WorseRecorders = WORSE_RECORDERS.none): EvalVehicle[] {
  return [...plans(options)].map((plan) => simulateVehicle(options, plan, worse));
}

function simulateVehicle(options: ResolvedOptions, plan: VehiclePlan, worse: WorseRecorders): EvalVehicle {
  const recorders = new Map<number, PhysicsRecorder>();
  const life = new VehicleLife(options, plan, (setup) => {
    const { ordinal } = setup.drive;
    const recorder = new PhysicsRecorder(`${plan.id}-${ordinal}`, setup, worse);
    if (!isLost(worse, { vehicle: plan.id, ordinal })) recorders.set(ordinal, recorder);
    return recorder.watch;
  });
  const snapshots = [];
  // Logs are lived through when the next file is asked for; their bytes are not wanted.
  for (const file of life.files()) if (file.kind === 'snapshot') snapshots.push(snapshotFact(file.path, file.chunks));
  const drives: RecordedDrive[] = [...recorders.values()].flatMap((recorder) => recorder.finish());
  return {
    ...{ vehicle: vehicleOf(plan), timeZone: plan.depot.timeZone, truth: life.truth() },
    drives: drives.sort((a, b) => a.drive.startedMs - b.drive.startedMs),
    snapshots: snapshots.sort((a, b) => a.atMs - b.atMs),
  };
}
