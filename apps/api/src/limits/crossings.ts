import { type Crossing, type FleetCrossings, TallybayError, type VehicleCrossings } from '@tallybay/contracts';
import { type CrossingRow, crossingHistory, Lake } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { CONTEXT_KEYS } from '@tallybay/risk';
import { found } from '../fleet/found.js';
import { nameOf } from '../recordings/recording-report.js';
import { isoOf } from '../vehicles/vehicle-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB', tables: ['crossings'] as const };

export interface CrossingSpan {
  fromMs: number;
  toMs: number;
  limit: number;
}

/** What uploads had beyond the limits that were in force when they came. */
export class Crossings {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
  ) {}

  /** @throws TallybayError `vehicle_not_found`, `parameter_invalid` */
  async ofVehicle(vehicle: string, span: CrossingSpan): Promise<VehicleCrossings> {
    found(await this.registry.vehicles.get(vehicle), `vehicle ${vehicle}`, 'vehicle_not_found');
    const rows = await this.read(span, vehicle);
    return { vehicle, crossings: rows.map(crossingFrom) };
  }

  /** @throws TallybayError `parameter_invalid` */
  async ofFleet(span: CrossingSpan): Promise<FleetCrossings> {
    const rows = await this.read({ ...span, limit: span.limit + 1 });
    return {
      crossings: rows.slice(0, span.limit).map((row) => ({ vehicle: row.vehicle_id, ...crossingFrom(row) })),
      more: rows.length > span.limit,
    };
  }

  private async read(span: CrossingSpan, vehicle?: string): Promise<CrossingRow[]> {
    if (span.fromMs >= span.toMs)
      throw new TallybayError('parameter_invalid', 'from: must be before to', {
        advice: 'Give the span as from and to, RFC 3339',
        place: { field: 'from' },
      });
    const lake = await Lake.open(this.lakeDirectory, {
      ...LAKE_OPTIONS,
      ...(vehicle === undefined ? {} : { vehicle }),
    });
    try {
      return await crossingHistory(lake, span);
    } finally {
      lake.close();
    }
  }
}

function crossingFrom(row: CrossingRow): Crossing {
  const { signal, direction, stage, written, seconds, worst } = row;
  return {
    ...{ id: row.crossing_id, upload: row.upload_id, ...labelOf(signal), direction, stage, written, seconds, worst },
    ...{ limit: row.limit_value, start: isoOf(row.started_ms), end: isoOf(row.ended_ms), worstAt: isoOf(row.worst_ms) },
    context: Object.fromEntries(CONTEXT_KEYS.map((key) => [key, row[key]])),
  };
}

const labelOf = (signal: string) => ({ signal, label: nameOf(signal).label, unit: nameOf(signal).unit });
