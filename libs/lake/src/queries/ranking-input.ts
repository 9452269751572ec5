import type { Depot, Ranking, Vehicle } from '@tallybay/contracts';
import type { SignalId } from '@tallybay/decode';
import {
  DEFAULT_RULES,
  HEAT_SIGNALS,
  type HeatSignal,
  HISTORY_SIGNALS,
  lowestStageC,
  type RankingInput,
  type RepairFact,
  type RuleSet,
  type SnapshotFact,
  shiftWeek,
  TREND_WEEKS,
  type VehicleFacts,
  weekWindow,
} from '@tallybay/risk';
import { countOnce } from '../counted/count-once.js';
import { type Overlap, overlapsOf } from '../counted/counted-time.js';
import type { Lake } from '../lake.js';
import { readRankingsBefore } from '../rankings.js';
import { driveGlances, type SignalGlances } from './drive-glances.js';
import { heldValues } from './held-values.js';
import { type LastSeenRow, lastSeen } from './last-seen.js';
import {
  type SnapshotCodeRow,
  type SnapshotMonitorRow,
  type SnapshotRow,
  snapshotHistory,
} from './snapshot-history.js';
import { type WeekDriveRow, weekDrives } from './week-drives.js';
import { type WeekDwellRow, weekDwell } from './week-dwell.js';
import { type WeekSignalStatsRow, weekSignalStats } from './week-signal-stats.js';

const MS_PER_DAY = 86_400_000;
const LOOK_BACK_DAYS = 400;
/** Weeks before the ranked one that say what is usual for a vehicle. */
const EARLIER_WEEKS_MS = 7 * 7 * MS_PER_DAY;

export interface RankingInputOptions {
  /** Now: a week that ends later is provisional. */
  asOfMs: number;
  /** Number of this revision; publishing numbers it anew. Default 1. */
  revision?: number;
  /** Earlier rankings, for the change since last week and the trend. Default: those published in this lake. */
  history?: readonly Ranking[];
  rules?: RuleSet;
  /** What the shop has done, by vehicle. */
  repairs?: ReadonlyMap<string, readonly RepairFact[]>;
}

/**
 * Everything the ranking of one week needs. Each vehicle's week is in its depot's zone, UTC where the depot is unknown;
 * a drive belongs to the week it started in. The ranking's own zone is the one with most vehicles.
 * @throws TallybayError `week_invalid`, or `parameter_invalid` for a depot with an unknown zone
 */
export async function readRankingInput(
  lake: Lake,
  fleet: { vehicles: readonly Vehicle[]; depots: readonly Depot[] },
  week: string,
  options: RankingInputOptions,
): Promise<RankingInput> {
  const rules = options.rules ?? DEFAULT_RULES;
  const zones = new Map(fleet.depots.map((depot) => [depot.id, depot.timeZone]));
  const zoneOf = (vehicle: Vehicle) => zones.get(vehicle.depot) ?? 'UTC';
  const timeZone = mostCommon(fleet.vehicles.map(zoneOf));
  const windows = new Map(
    [...new Set([timeZone, ...fleet.vehicles.map(zoneOf)])].map((zone) => [zone, weekWindow(week, zone)]),
  );
  const fromMs = Math.min(...[...windows.values()].map((window) => window.fromMs));
  const toMs = Math.max(...[...windows.values()].map((window) => window.toMs));
  const history = options.history ?? (await readRankingsBefore(lake.directory, week, TREND_WEEKS - 1));
  const lastWeek = shiftWeek(week, -1);
  const read = await readRows(lake, { fromMs, toMs }, rules);
  return {
    ...{ week, timeZone, revision: options.revision ?? 1, history },
    previous: history.findLast((ranking) => ranking.week === lastWeek) ?? null,
    provisional: options.asOfMs < toMs,
    vehicles: fleet.vehicles.map((vehicle) => {
      const zone = zoneOf(vehicle);
      const facts = vehicleFacts(read, vehicle, { timeZone: zone, ...windows.get(zone)! });
      const repairs = options.repairs?.get(vehicle.id);
      return repairs ? { ...facts, repairs } : facts;
    }),
  };
}

/** Every vehicle's snapshots of the last 400 days before `toMs` (as far back as a ranking looks), without its samples. */
export async function readSnapshotFacts(lake: Lake, toMs: number): Promise<Map<string, SnapshotFact[]>> {
  const { snapshots, codes, monitors } = await snapshotHistory(lake, {
    fromMs: toMs - LOOK_BACK_DAYS * MS_PER_DAY,
    toMs,
  });
  const rows = { snapshots: byVehicle(snapshots), codes: byVehicle(codes), monitors: byVehicle(monitors) };
  return new Map([...rows.snapshots.keys()].map((vehicle) => [vehicle, snapshotFacts(rows, vehicle)]));
}

interface LakeRows {
  drives: Map<string, WeekDriveRow[]>;
  dwell: Map<string, WeekDwellRow[]>;
  stats: Map<string, WeekSignalStatsRow[]>;
  snapshots: Map<string, SnapshotRow[]>;
  codes: Map<string, SnapshotCodeRow[]>;
  monitors: Map<string, SnapshotMonitorRow[]>;
  seen: Map<string, LastSeenRow[]>;
  /** By vehicle and drive. */
  glances: Map<string, Map<string, SignalGlances>>;
  /** By drive. */
  held: Awaited<ReturnType<typeof heldValues>>;
  /** Logs of the same time, by vehicle. */
  overlaps: Map<string, Overlap[]>;
}

async function readRows(lake: Lake, window: { fromMs: number; toMs: number }, rules: RuleSet): Promise<LakeRows> {
  const ageingFrom = (signal: HeatSignal) => rules.ageing.find((row) => row.signal === signal)?.referenceC ?? Infinity;
  const wanted = HEAT_SIGNALS.map((signal) => ({
    signal,
    above: Math.min(lowestStageC(rules.stages, signal), ageingFrom(signal)),
  })).filter(({ above }) => Number.isFinite(above));
  const history = { fromMs: window.toMs - LOOK_BACK_DAYS * MS_PER_DAY, toMs: window.toMs };
  const driveSpan = { fromMs: window.fromMs - EARLIER_WEEKS_MS, toMs: window.toMs };
  const shared = await countOnce(lake, driveSpan, { signals: HISTORY_SIGNALS });
  const { snapshots, codes, monitors } = await snapshotHistory(lake, history);
  return {
    drives: byVehicle(await weekDrives(lake, driveSpan)),
    dwell: byVehicle(await weekDwell(lake, window, wanted)),
    stats: byVehicle(await weekSignalStats(lake, window, HISTORY_SIGNALS)),
    snapshots: byVehicle(snapshots),
    codes: byVehicle(codes),
    monitors: byVehicle(monitors),
    seen: byVehicle(await lastSeen(lake, window.toMs)),
    glances: await driveGlances(lake, driveSpan, HISTORY_SIGNALS),
    held: await heldValues(
      lake,
      { ...driveSpan, heldSeconds: rules.warning.heldSeconds },
      rules.warning.signals.map(({ signal }) => signal),
    ),
    overlaps: Map.groupBy(overlapsOf(shared), ({ vehicleId }) => vehicleId),
  };
}

function vehicleFacts(
  rows: LakeRows,
  vehicle: Vehicle,
  window: { timeZone: string; fromMs: number; toMs: number },
): VehicleFacts {
  const drives = rows.drives.get(vehicle.id) ?? [];
  const inWindow = (row: { started_ms: number }) => row.started_ms >= window.fromMs && row.started_ms < window.toMs;
  const inWeek = drives.filter(inWindow);
  return {
    ...{ vehicle, ...window },
    drives: inWeek.map((row) => ({
      ...{ driveId: row.drive_id, uploadId: row.upload_id, startedMs: row.started_ms, endedMs: row.ended_ms },
      ...{ seconds: row.seconds, distanceKm: row.distance_km },
    })),
    earlierDrives: drives
      .filter((row) => row.started_ms < window.fromMs)
      .map((row) => earlierDrive(row, withHeld(rows, vehicle.id, row.drive_id))),
    dwell: (rows.dwell.get(vehicle.id) ?? [])
      .filter(inWindow)
      .map(({ drive_id, signal, value_seconds, low, high, seconds, min, max }) => ({
        ...{ driveId: drive_id, signal: signal as SignalId, valueSeconds: value_seconds, low, high, seconds, min, max },
      })),
    signals: (rows.stats.get(vehicle.id) ?? []).filter(inWindow).map((row) => signalFact(row, rows.held)),
    snapshots: snapshotFacts(rows, vehicle.id).filter(({ atMs }) => atMs < window.toMs),
    lastSeenMs: rows.seen.get(vehicle.id)?.[0]?.last_ms ?? null,
    ...overlapFacts(rows.overlaps.get(vehicle.id) ?? [], window),
  };
}

/** Only uploads whose time is counted elsewhere: the others lose nothing. */
function overlapFacts(
  overlaps: readonly Overlap[],
  window: { fromMs: number; toMs: number },
): Pick<VehicleFacts, 'overlaps'> {
  const found = overlaps.filter(
    ({ counted, fromMs, toMs }) => counted === 'other' && fromMs < window.toMs && toMs > window.fromMs,
  );
  return found.length === 0
    ? {}
    : { overlaps: found.map(({ uploadId, otherUploadId, seconds }) => ({ uploadId, otherUploadId, seconds })) };
}

const earlierDrive = (row: WeekDriveRow, signals: SignalGlances): VehicleFacts['earlierDrives'][number] => ({
  ...{ driveId: row.drive_id, startedMs: row.started_ms, endedMs: row.ended_ms, seconds: row.seconds, signals },
});

function withHeld({ glances, held }: LakeRows, vehicleId: string, driveId: string): SignalGlances {
  const own = held.get(driveId) ?? {};
  return Object.fromEntries(
    Object.entries(glances.get(vehicleId)?.get(driveId) ?? {}).map(([signal, glance]) => [
      signal,
      { ...glance, ...heldFact(own[signal as SignalId]) },
    ]),
  );
}

const heldFact = (held: number | undefined): { held?: number } => (held === undefined ? {} : { held });

function signalFact(row: WeekSignalStatsRow, held: LakeRows['held']): VehicleFacts['signals'][number] {
  const { drive_id, signal, channel, source_unit, valid, min, max, first, last, mean, seconds, unreadable, jump } = row;
  return {
    ...{ driveId: drive_id, signal: signal as SignalId, channel, sourceUnit: source_unit },
    ...{ valid, min, max, first, last, mean, seconds, unreadable, jump },
    ...{ outOfRange: row.out_of_range, stuckSeconds: row.stuck_seconds },
    ...heldFact(held.get(drive_id)?.[signal as SignalId]),
    ...(row.max_ms === null ? {} : { maxAtMs: row.max_ms }),
    ...(row.engine_seconds === null ? {} : { engineSeconds: row.engine_seconds }),
  };
}

function snapshotFacts(rows: Pick<LakeRows, 'snapshots' | 'codes' | 'monitors'>, vehicleId: string): SnapshotFact[] {
  const codes = Map.groupBy(rows.codes.get(vehicleId) ?? [], snapshotKey);
  const monitors = Map.groupBy(rows.monitors.get(vehicleId) ?? [], snapshotKey);
  return (rows.snapshots.get(vehicleId) ?? []).map((row) => ({
    ...{ uploadId: row.upload_id, atMs: row.at_ms, odometerKm: row.odometer_km, engineHours: row.engine_hours },
    ...{ lampOn: row.lamp_on, ignition: row.ignition },
    read: {
      ...{ pending: row.read_pending, confirmed: row.read_confirmed },
      ...{ permanent: row.read_permanent, monitors: row.read_monitors },
    },
    ...modulesRead(row),
    counters: {
      warmUpsSinceClear: row.warm_ups_since_clear,
      distanceSinceClearKm: row.distance_since_clear_km,
      minutesSinceClear: row.minutes_since_clear,
      distanceWithLampKm: row.distance_with_lamp_km,
      minutesWithLamp: row.minutes_with_lamp,
    },
    codes: (codes.get(snapshotKey(row)) ?? []).map(({ code, status, module }) => ({ code, status, module })),
    monitors: (monitors.get(snapshotKey(row)) ?? []).map(({ monitor, supported, complete }) => ({
      ...{ id: monitor, supported, complete },
    })),
  }));
}

/** Absent where every service was read of the whole vehicle. */
function modulesRead(row: SnapshotRow): Pick<SnapshotFact, 'modulesRead'> {
  const lists = { pending: row.modules_pending, confirmed: row.modules_confirmed, permanent: row.modules_permanent };
  const known = Object.entries(lists).filter(([, modules]) => modules !== null);
  return known.length > 0 ? { modulesRead: Object.fromEntries(known) } : {};
}

/** One upload may hold several snapshots. */
const snapshotKey = (row: { upload_id: string; at_ms: number }): string => `${row.upload_id} ${row.at_ms}`;

const byVehicle = <T extends { vehicle_id: string }>(rows: readonly T[]): Map<string, T[]> =>
  Map.groupBy(rows, (row) => row.vehicle_id);

/** Most frequent value, the first by name among equals; UTC for an empty fleet. */
function mostCommon(zones: readonly string[]): string {
  const counts = [...Map.groupBy(zones, (zone) => zone)].map(([zone, all]) => ({ zone, count: all.length }));
  return counts.sort((a, b) => b.count - a.count || (a.zone < b.zone ? -1 : 1))[0]?.zone ?? 'UTC';
}
