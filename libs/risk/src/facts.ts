import type {
  CodeStatus,
  Ranking,
  SnapshotCode,
  SnapshotCounters,
  SnapshotMonitor,
  Vehicle,
} from '@tallybay/contracts';
import type { SignalId } from '@tallybay/decode';

/** One drive of the week: engine on to engine off. */
export interface DriveFact {
  driveId: string;
  uploadId: string;
  startedMs: number;
  endedMs: number;
  /** Engine-on seconds by the hold rule. */
  seconds: number;
  distanceKm: number | null;
}

/** Seconds of one drive in one value bin [low, high). Bins that lie below every stage may be left out. */
export interface DwellFact {
  driveId: string;
  signal: SignalId;
  low: number;
  high: number;
  seconds: number;
  /** Integral of the value over those seconds. */
  valueSeconds: number;
  min: number;
  max: number;
}

/** One channel's figures in one drive. */
export interface SignalFact {
  driveId: string;
  signal: SignalId;
  channel: string;
  sourceUnit: string | null;
  valid: number;
  min: number | null;
  max: number | null;
  first: number | null;
  last: number | null;
  mean: number | null;
  seconds: number;
  outOfRange: number;
  unreadable: number;
  jump: number;
  stuckSeconds: number;
  /** Engine-on seconds of the drive that count for this signal, where another log has the rest; absent = all of the drive. */
  engineSeconds?: number;
  /** When the highest value was first reached; absent = not asked for. */
  maxAtMs?: number;
  /** As in `SignalGlance`. */
  held?: number;
}

/** The week's highest value of a temperature and what went on beside it, as far as it was recorded. */
export interface HeatPeakFact {
  signal: SignalId;
  driveId: string;
  uploadId: string;
  atMs: number;
  valueC: number;
  /** By CONTEXT_KEYS, and `load_excess_pct`. */
  context: Record<string, number | null>;
}

/** Two logs of the same time: it counts once, from the other. */
export interface OverlapFact {
  uploadId: string;
  otherUploadId: string;
  seconds: number;
}

/** A drive of an earlier week, with the few figures that are compared with this week's. */
export interface EarlierDriveFact {
  driveId: string;
  startedMs: number;
  endedMs: number;
  seconds: number;
  /** Only signals that had a valid value. */
  signals: Partial<Record<SignalId, SignalGlance>>;
}

export interface SignalGlance {
  first: number;
  mean: number | null;
  max: number;
  /** Highest value that the drive was at or above for the early warning's `heldSeconds` in all; absent = not known. */
  held?: number;
}

export interface SnapshotFact {
  uploadId: string;
  atMs: number;
  odometerKm: number | null;
  engineHours: number | null;
  lampOn: boolean | null;
  ignition: 'spark' | 'compression' | null;
  read: { pending: boolean; confirmed: boolean; permanent: boolean; monitors: boolean };
  /** Modules that answered each service; a service without an entry was read of the whole vehicle. */
  modulesRead?: Partial<Record<CodeStatus, readonly string[]>>;
  counters: { [K in keyof SnapshotCounters]-?: number | null };
  codes: (Pick<SnapshotCode, 'code' | 'status'> & { module: string | null })[];
  monitors: SnapshotMonitor[];
}

/** Work that the shop has done on a vehicle. */
export interface RepairFact {
  atMs: number;
  /** What was done, in words. */
  label: string;
  /** It was done because of heat: exposure counts anew from here. */
  heat: boolean;
}

/** All that is known of one vehicle for one week. */
export interface VehicleFacts {
  vehicle: Vehicle;
  timeZone: string;
  /** The week in the zone of the vehicle's depot, [fromMs, toMs). */
  fromMs: number;
  toMs: number;
  /** Drives that started in the week. */
  drives: DriveFact[];
  /** Drives of the weeks before, for cold starts and for what is usual for this vehicle. */
  earlierDrives: EarlierDriveFact[];
  dwell: DwellFact[];
  signals: SignalFact[];
  /** Before `toMs`, looking back a year and more. */
  snapshots: SnapshotFact[];
  /** Highest values of temperatures that reached a stage; absent = not read. */
  peaks?: HeatPeakFact[];
  /** Uploads of which time is counted from another; absent = none. */
  overlaps?: OverlapFact[];
  /** What the shop has done; absent = nothing is known of. */
  repairs?: readonly RepairFact[];
  /** Newest drive or snapshot before `toMs`, of any age; null = never. */
  lastSeenMs: number | null;
}

export interface RankingInput {
  /** ISO week such as `2026-W41`. */
  week: string;
  /** Zone that `from` and `to` of the ranking are written in. */
  timeZone: string;
  revision: number;
  /** The week was not over when the facts were read. */
  provisional: boolean;
  vehicles: VehicleFacts[];
  /** Last week's ranking, null if there is none. */
  previous: Ranking | null;
  /** Earlier rankings for the trend, any order; last week's may be among them. */
  history?: readonly Ranking[];
}
