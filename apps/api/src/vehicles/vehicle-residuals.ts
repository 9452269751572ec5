import type { VehicleResiduals } from '@tallybay/contracts';
import { type DriveHistoryRow, driveHistory, Lake, lastSeen, readRankingInput } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import {
  classAir,
  isoWeekOf,
  type RuleSet,
  recentFrom,
  type SignalResiduals,
  sensorFindings,
  vehicleFeatures,
  vehicleResiduals,
} from '@tallybay/risk';
import { found } from '../fleet/found.js';
import { isoOf } from './vehicle-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB' };
const END_OF_TIME_MS = 8.64e15;
const MOST_DRIVES = 100_000;

/** What the early warning of a vehicle goes by, with the drives of its class that say what is usual. */
export class VehicleResidualsReader {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
    private readonly rules: () => Promise<RuleSet>,
    private readonly nowMs: () => number,
  ) {}

  /** @param until week; the newest with data of the vehicle by default. @throws TallybayError `vehicle_not_found` */
  async read(id: string, until?: string): Promise<VehicleResiduals> {
    const vehicle = found(await this.registry.vehicles.get(id), `vehicle ${id}`, 'vehicle_not_found');
    const depots = await this.registry.depots.list();
    const timeZone = depots.find((depot) => depot.id === vehicle.depot)?.timeZone ?? 'UTC';
    const vehicles = await this.registry.vehicles.list({ vehicleClass: vehicle.vehicleClass });
    const rules = await this.rules();
    const lake = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle: vehicles.map((one) => one.id) });
    try {
      const seen = (await lastSeen(lake, END_OF_TIME_MS)).find((row) => row.vehicle_id === id);
      const week = until ?? isoWeekOf(seen?.last_ms ?? this.nowMs(), timeZone);
      const options = { asOfMs: this.nowMs(), rules, history: [] };
      const input = await readRankingInput(lake, { vehicles, depots }, week, options);
      const air = classAir(input.vehicles, rules.sensors);
      const features = input.vehicles.map((facts) =>
        vehicleFeatures(facts, sensorFindings(facts, rules, air), rules, air),
      );
      const asOfMs = Math.max(...input.vehicles.map(({ toMs }) => toMs));
      const span = { fromMs: 0, toMs: END_OF_TIME_MS, limit: MOST_DRIVES };
      const drives = new Map((await driveHistory(lake, id, span)).map((row) => [row.drive_id, row]));
      return {
        ...{ vehicle: id, vehicleClass: vehicle.vehicleClass, week, compared: vehicles.length },
        recentFrom: isoOf(recentFrom(asOfMs, rules.warning)),
        signals: vehicleResiduals(features, id, asOfMs, rules.warning).map((row) => signalFrom(row, drives)),
      };
    } finally {
      lake.close();
    }
  }
}

function signalFrom(
  { signal, label, state, excess, residuals }: SignalResiduals,
  drives: ReadonlyMap<string, DriveHistoryRow>,
): VehicleResiduals['signals'][number] {
  return {
    ...{ signal, label, state, excessK: excess?.excessK ?? null, thresholdK: excess?.thresholdK ?? null },
    ...{ baselineK: excess?.baselineK ?? null, warns: excess?.warns ?? false },
    drives: residuals.flatMap(({ driveId, heldC, explainedC, kelvin }) => {
      const drive = drives.get(driveId);
      if (!drive) return [];
      return [
        {
          ...{ upload: drive.upload_id, from: isoOf(drive.started_ms), to: isoOf(drive.ended_ms) },
          ...{ heldC, explainedC, residualK: kelvin },
        },
      ];
    }),
  };
}
