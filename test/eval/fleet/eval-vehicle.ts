import type { Vehicle } from '@tallybay/contracts';
import type { DriveFact, DwellFact, EarlierDriveFact, SignalFact, SnapshotFact } from '@tallybay/risk';
import type { VehiclePlan, VehicleTruth } from '@tallybay/synthetic-fleet';

/** One drive as it comes out of decoding: what the lake would hold of it. */
export interface RecordedDrive {
  drive: DriveFact;
  dwell: DwellFact[];
  signals: SignalFact[];
}

/** A vehicle's weeks: what was recorded of it, and what was really the matter with it. */
export interface EvalVehicle {
  vehicle: Vehicle;
  timeZone: string;
  drives: RecordedDrive[];
  snapshots: SnapshotFact[];
  truth: VehicleTruth;
}

export const vehicleOf = (plan: VehiclePlan): Vehicle => ({
  ...{ id: plan.id, vehicleClass: plan.vehicleClass.id, depot: plan.depot.id },
  ...{ modelYear: plan.modelYear, fuel: plan.vehicleClass.fuel, inspectionDue: plan.inspectionDue },
});

/** A drive as later weeks see it: the few figures that are kept of it. */
export const glanceOf = ({ drive, signals }: RecordedDrive): EarlierDriveFact => ({
  ...{ driveId: drive.driveId, startedMs: drive.startedMs, endedMs: drive.endedMs, seconds: drive.seconds },
  signals: Object.fromEntries(
    signals.flatMap(({ signal, first, mean, max, held }) =>
      first === null || max === null
        ? []
        : [[signal, { first, mean, max, ...(held === undefined ? {} : { held }) }] as const],
    ),
  ),
});
