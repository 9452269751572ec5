import type { CodeStatus, Vehicle } from '@tallybay/contracts';
import type { SignalId } from '@tallybay/decode';
import type { DwellFact, RankingInput, SignalFact, SnapshotFact, VehicleFacts } from '@tallybay/risk';
import { weekWindow } from '@tallybay/risk';

export const WEEK = '2026-W41';
export const ZONE = 'America/Denver';
export const WINDOW = weekWindow(WEEK, ZONE);
export const HOUR = 3_600_000;
export const DAY = 24 * HOUR;

/** A stretch of a drive at one temperature: minutes in a bin of half a degree. */
export interface Stretch {
  signal: SignalId;
  atC: number;
  minutes: number;
}

export function dwellRow(driveId: string, { signal, atC, minutes }: Stretch): DwellFact {
  const low = Math.floor(atC * 2) / 2;
  const seconds = minutes * 60;
  return { driveId, signal, low, high: low + 0.5, seconds, valueSeconds: atC * seconds, min: atC, max: atC };
}

/** Figures of a healthy channel; override what the test is about. */
export function statsRow(driveId: string, signal: SignalId, change: Partial<SignalFact> = {}): SignalFact {
  return {
    ...{ driveId, signal, channel: signal, sourceUnit: 'degC', valid: 36_000, seconds: 3_600 },
    ...{ min: 15, max: 92, first: 15, last: 90, mean: 84, outOfRange: 0, unreadable: 0, jump: 0, stuckSeconds: 0 },
    ...change,
  };
}

export interface VehiclePlan {
  id: string;
  vehicle?: Partial<Vehicle>;
  /** Engine hours of each drive, one a day from Monday 08:00. */
  driveHours?: number[];
  /** Stretches of the drive with the same index. */
  stretches?: Stretch[][];
  /** Signals with healthy figures in every drive. Default: coolant. */
  signals?: readonly SignalId[];
  snapshots?: SnapshotFact[];
}

/** Facts of one vehicle in WEEK: drives, dwell and figures that fit together. */
export function vehicleFacts(plan: VehiclePlan): VehicleFacts {
  const hours = plan.driveHours ?? [2, 2, 2, 2, 2];
  const drives = hours.map((driveHours, index) => ({
    driveId: `${plan.id}-d${index + 1}`,
    uploadId: `${plan.id}-u`,
    startedMs: WINDOW.fromMs + index * DAY + 8 * HOUR,
    endedMs: WINDOW.fromMs + index * DAY + (8 + driveHours) * HOUR,
    seconds: driveHours * 3600,
    distanceKm: driveHours * 40,
  }));
  const stretches = (index: number) => plan.stretches?.[index] ?? [];
  return {
    vehicle: { id: plan.id, vehicleClass: 'pickup', depot: 'north', modelYear: 2018, fuel: 'gas', ...plan.vehicle },
    ...{ timeZone: ZONE, ...WINDOW, drives, earlierDrives: [], lastSeenMs: drives.at(-1)?.startedMs ?? null },
    dwell: drives.flatMap((drive, index) => stretches(index).map((stretch) => dwellRow(drive.driveId, stretch))),
    signals: drives.flatMap((drive, index) =>
      (plan.signals ?? ['coolant_temp_c']).map((signal) => {
        const peaks = stretches(index).filter((stretch) => stretch.signal === signal);
        const max = Math.max(92, ...peaks.map(({ atC }) => atC));
        return statsRow(drive.driveId, signal, { seconds: drive.seconds, max });
      }),
    ),
    snapshots: plan.snapshots ?? [],
  };
}

export interface SnapshotPlan {
  atMs: number;
  codes?: [code: string, status: CodeStatus, module?: string][];
  change?: Partial<SnapshotFact>;
  counters?: Partial<SnapshotFact['counters']>;
}

/** A snapshot that read everything: lamp off, all monitors complete, long since the last clear. */
export function snapshotFact({ atMs, codes, change, counters }: SnapshotPlan): SnapshotFact {
  return {
    ...{ uploadId: `s-${atMs}`, atMs, odometerKm: null, engineHours: null, lampOn: false, ignition: 'spark' },
    read: { pending: true, confirmed: true, permanent: true, monitors: true },
    counters: {
      ...{ warmUpsSinceClear: null, distanceSinceClearKm: null, minutesSinceClear: null },
      ...{ distanceWithLampKm: null, minutesWithLamp: null },
      ...counters,
    },
    codes: (codes ?? []).map(([code, status, module]) => ({ code, status, module: module ?? null })),
    monitors: [
      { id: 'catalyst', supported: true, complete: true },
      { id: 'evap', supported: true, complete: true },
      { id: 'o2_sensor', supported: true, complete: true },
      { id: 'egr_vvt', supported: true, complete: true },
    ],
    ...change,
  };
}

/** One healthy snapshot on the week's Friday. */
export const healthySnapshot = (): SnapshotFact => snapshotFact({ atMs: WINDOW.fromMs + 4 * DAY });

export const rankingInput = (vehicles: VehicleFacts[], change: Partial<RankingInput> = {}): RankingInput => ({
  ...{ week: WEEK, timeZone: ZONE, revision: 1, provisional: false, vehicles, previous: null },
  ...change,
});
