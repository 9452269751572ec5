import type { Vehicle, VehicleQuality, VehicleWeeks } from '@tallybay/contracts';
import {
  countOnce,
  driveHistory,
  Lake,
  lastSeen,
  overlapsOf,
  readCountedTime,
  readRankingInput,
  vehicleQualityRows,
  vehicleWeekRows,
} from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import {
  classAir,
  HEAT_SIGNALS,
  isoWeekOf,
  needsNeighbours,
  type RuleSet,
  type SensorFinding,
  sensorFindings,
  shiftWeek,
  stagesFor,
  weekWindow,
} from '@tallybay/risk';
import { found } from '../fleet/found.js';
import { nameOf, overlapFrom } from '../recordings/recording-report.js';
import { isoOf } from './vehicle-report.js';
import { qualityOf, signalWeeks } from './vehicle-weeks-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
/** The last instant that a JavaScript date can hold (ECMA-262, section 21.4.1.1). */
const END_OF_TIME_MS = 8.64e15;
const MOST_FAILED = 20;
const MOST_DRIVES = 100_000;

export interface WeekSpan {
  weeks: number;
  /** Last week; the newest with data of the vehicle by default. */
  until?: string | undefined;
}

interface Asked {
  vehicle: Vehicle;
  timeZone: string;
  rules: RuleSet;
  names: string[];
  fromMs: number;
  toMs: number;
  newestMs: number | null;
}

/** One vehicle week by week: its temperatures and how long it spent at them, and how good its data are. */
export class VehicleWeeksReader {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
  ) {}

  /** @throws TallybayError `vehicle_not_found` (as all of these) */
  weeks(id: string, span: WeekSpan): Promise<VehicleWeeks> {
    return this.read(id, span, async (lake, asked) => {
      const { vehicle, timeZone, rules, names, fromMs, toMs, newestMs } = asked;
      await countOnce(lake, { fromMs, toMs }, { signals: HEAT_SIGNALS });
      const rows = await vehicleWeekRows(lake, id, { fromMs, toMs, zone: timeZone, signals: HEAT_SIGNALS });
      const driven = new Map(rows.drives.map((row) => [row.week, row]));
      const read = new Map(rows.snapshots.map((row) => [row.week, row.snapshots]));
      return {
        ...{ vehicle: id, timeZone, from: isoOf(fromMs), to: isoOf(toMs) },
        newestData: newestMs === null ? null : isoOf(newestMs),
        weeks: names.map((week) => ({
          ...{ week, drives: driven.get(week)?.drives ?? 0, snapshots: read.get(week) ?? 0 },
          engineHours: (driven.get(week)?.seconds ?? 0) / 3600,
          distanceKm: driven.get(week)?.distance_km ?? null,
        })),
        signals: HEAT_SIGNALS.flatMap((signal) => {
          const { label, unit } = nameOf(signal);
          const stages = stagesFor(rules.stages, signal, vehicle);
          const weeks = signalWeeks(rows, { signal, stages, names });
          return weeks ? [{ signal, label, unit, ...weeks }] : [];
        }),
      };
    });
  }

  quality(id: string, span: WeekSpan): Promise<VehicleQuality> {
    return this.read(id, span, async (lake, asked) => {
      const { vehicle, rules, fromMs, toMs } = asked;
      const rows = await vehicleQualityRows(lake, id, { fromMs, toMs });
      const failed = await this.registry.uploads.list({ vehicle: id, state: 'failed', limit: MOST_FAILED });
      const recorded = new Set(rows.signals.filter(({ valid }) => valid > 0).map(({ signal }) => signal));
      const overlaps = overlapsOf(await readCountedTime(lake, { fromMs, toMs }));
      const staged = HEAT_SIGNALS.filter((signal) => stagesFor(rules.stages, signal, vehicle).length > 0);
      return {
        ...{ vehicle: id, from: isoOf(fromMs), to: isoOf(toMs) },
        ...qualityOf(rows),
        failed: failed.map((upload) => ({
          ...{ upload: upload.id, fileName: upload.fileName, receivedAt: upload.receivedAt },
          problem: upload.problem?.detail ?? null,
        })),
        findings: await this.findings(lake, asked, recorded),
        overlaps: overlaps.filter(({ counted }) => counted === 'other').map(overlapFrom),
        notRecorded: staged
          .filter((signal) => !recorded.has(signal))
          .map((signal) => ({ signal, label: nameOf(signal).label })),
      };
    });
  }

  /**
   * Sensors are judged week by week, as the ranking does; weeks without a drive have nothing to judge. The class is read
   * only for a vehicle whose sensors are too few to contradict each other.
   */
  private async findings(lake: Lake, asked: Asked, recorded: ReadonlySet<string>) {
    if (!needsNeighbours(recorded)) return this.findingsAmong([asked.vehicle], lake, asked);
    const mates = await this.registry.vehicles.list({ vehicleClass: asked.vehicle.vehicleClass });
    const ofClass = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle: mates.map(({ id }) => id) });
    try {
      return await this.findingsAmong(mates, ofClass, asked);
    } finally {
      ofClass.close();
    }
  }

  private async findingsAmong(vehicles: readonly Vehicle[], lake: Lake, asked: Asked) {
    const { vehicle, rules, timeZone, names, fromMs, toMs } = asked;
    const drives = await driveHistory(lake, vehicle.id, { fromMs, toMs, limit: MOST_DRIVES });
    const driven = new Set(drives.map(({ started_ms }) => isoWeekOf(started_ms, timeZone)));
    const fleet = { vehicles, depots: await this.registry.depots.list() };
    const found: { finding: SensorFinding; week: string }[] = [];
    for (const week of names.filter((name) => driven.has(name))) {
      const input = await readRankingInput(lake, fleet, week, { asOfMs: this.nowMs(), rules, history: [] });
      const own = input.vehicles.find((facts) => facts.vehicle.id === vehicle.id)!;
      const air = classAir(input.vehicles, rules.sensors);
      found.push(...sensorFindings(own, rules, air).map((finding) => ({ finding, week })));
    }
    const alike = Map.groupBy(found, ({ finding }) => `${finding.signal} ${finding.kind}`);
    return [...alike.values()].map((rows) => {
      const { signal, text } = rows.at(-1)!.finding;
      return { signal, label: nameOf(signal).label, text, weeks: rows.map(({ week }) => week) };
    });
  }

  private async read<T>(id: string, span: WeekSpan, work: (lake: Lake, asked: Asked) => Promise<T>): Promise<T> {
    const vehicle = found(await this.registry.vehicles.get(id), `vehicle ${id}`, 'vehicle_not_found');
    const depots = await this.registry.depots.list();
    const timeZone = depots.find((depot) => depot.id === vehicle.depot)?.timeZone ?? 'UTC';
    const rules = await this.rules();
    const lake = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle: id });
    try {
      const newestMs = (await lastSeen(lake, END_OF_TIME_MS))[0]?.last_ms ?? null;
      const last = span.until ?? isoWeekOf(newestMs ?? this.nowMs(), timeZone);
      const names = Array.from({ length: span.weeks }, (_, index) => shiftWeek(last, index - span.weeks + 1));
      const window = { fromMs: weekWindow(names[0]!, timeZone).fromMs, toMs: weekWindow(last, timeZone).toMs };
      return await work(lake, { vehicle, timeZone, rules, names, newestMs, ...window });
    } finally {
      lake.close();
    }
  }
}
