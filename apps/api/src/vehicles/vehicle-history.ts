import {
  type Depot,
  type DriveList,
  TallybayError,
  type Vehicle,
  type VehicleCodes,
  type VehicleHeatReport,
  type VehicleReadiness,
} from '@tallybay/contracts';
import { countOnce, driveHistory, Lake, readRankingInput, readSnapshotFacts } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { isoWeekOf, type RuleSet, type SnapshotFact, shiftWeek, type VehicleFacts, vehicleHeat } from '@tallybay/risk';
import { vehicleCodesFrom } from '../codes/code-report.js';
import { repairsOf } from '../plan/repairs.js';
import type { ClassHistories } from '../readiness/class-histories.js';
import { vehicleReadinessFrom } from '../readiness/readiness-report.js';
import { heatWeekFrom, isoOf } from './vehicle-report.js';

/** Questions about one vehicle read only its own files, on a small DuckDB of their own. */
const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };

/** What the lake knows of one vehicle, judged by the rules in force. */
export class VehicleHistory {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
    private readonly classes: ClassHistories,
  ) {}

  /** @throws TallybayError `vehicle_not_found` (as all of these) */
  async drives(id: string, span: { fromMs: number; toMs: number; limit: number }): Promise<DriveList> {
    const vehicle = await this.vehicle(id);
    const rows = await this.withLake(id, async (lake) => {
      // Only drives are asked for: no signal needs counting again.
      await countOnce(lake, span, { signals: [] });
      return driveHistory(lake, id, span);
    });
    return {
      vehicle: vehicle.id,
      drives: rows.map((row) => ({
        id: row.drive_id,
        upload: row.upload_id,
        from: isoOf(row.started_ms),
        to: isoOf(row.ended_ms),
        seconds: row.seconds,
        distanceKm: row.distance_km,
        distanceSource: row.distance_source,
        fuelL: row.fuel_l,
        rows: row.rows,
      })),
    };
  }

  /** @param until last week shown; the current one by default */
  async heat(id: string, weeks: number, until?: string): Promise<VehicleHeatReport> {
    const vehicle = await this.vehicle(id);
    const depots = await this.registry.depots.list();
    const timeZone = depots.find((depot) => depot.id === vehicle.depot)?.timeZone ?? 'UTC';
    const last = until ?? isoWeekOf(this.nowMs(), timeZone);
    const names = Array.from({ length: weeks }, (_, index) => shiftWeek(last, index - weeks + 1));
    const rules = await this.rules();
    const facts = await this.withLake(id, async (lake) => {
      const read: { week: string; facts: VehicleFacts }[] = [];
      for (const week of names) read.push({ week, facts: await this.facts(lake, { vehicle, depots, week, rules }) });
      return read;
    });
    return {
      vehicle: vehicle.id,
      timeZone,
      weeks: facts.map(({ week, facts }) => heatWeekFrom(week, facts, vehicleHeat(facts, rules))),
    };
  }

  async codes(id: string): Promise<VehicleCodes> {
    const { vehicle, snapshots, rules } = await this.snapshots(id);
    // Which repairs were of heat does not matter to a code.
    const repairs = (await repairsOf(this.registry, [])).get(id) ?? [];
    return vehicleCodesFrom(vehicle, snapshots, { rules, nowMs: this.nowMs(), repairs });
  }

  async readiness(id: string): Promise<VehicleReadiness> {
    const { vehicle, snapshots, rules } = await this.snapshots(id);
    const depots = await this.registry.depots.list();
    const timeZone = depots.find((depot) => depot.id === vehicle.depot)?.timeZone ?? 'UTC';
    const others = (await this.classes.read()).othersOf(vehicle);
    return vehicleReadinessFrom(vehicle, snapshots, { rules, nowMs: this.nowMs(), timeZone, others });
  }

  /** Snapshots up to now, as far back as a ranking looks. */
  private async snapshots(id: string): Promise<{ vehicle: Vehicle; snapshots: SnapshotFact[]; rules: RuleSet }> {
    const vehicle = await this.vehicle(id);
    const rules = await this.rules();
    const facts = await this.withLake(id, (lake) => readSnapshotFacts(lake, this.nowMs()));
    return { vehicle, snapshots: facts.get(id) ?? [], rules };
  }

  private async facts(
    lake: Lake,
    { vehicle, depots, week, rules }: { vehicle: Vehicle; depots: Depot[]; week: string; rules: RuleSet },
  ): Promise<VehicleFacts> {
    const options = { asOfMs: this.nowMs(), revision: 1, rules };
    const { vehicles } = await readRankingInput(lake, { vehicles: [vehicle], depots }, week, options);
    return vehicles[0]!;
  }

  private async vehicle(id: string): Promise<Vehicle> {
    const vehicle = await this.registry.vehicles.get(id);
    if (vehicle) return vehicle;
    throw new TallybayError('vehicle_not_found', `There is no vehicle ${id}`, {
      advice: 'GET /v1/vehicles lists what is registered',
    });
  }

  private async withLake<T>(vehicle: string, work: (lake: Lake) => Promise<T>): Promise<T> {
    const lake = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle });
    try {
      return await work(lake);
    } finally {
      lake.close();
    }
  }
}
