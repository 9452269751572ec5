import { type NewExtremesReset, TallybayError, type VehicleExtremes } from '@tallybay/contracts';
import { isSignalId } from '@tallybay/decode';
import { type Extreme, Lake, signalExtremes } from '@tallybay/lake';
import type { Registry } from '@tallybay/registry';
import { found } from '../fleet/found.js';
import { nameOf } from '../recordings/recording-report.js';
import { isoOf } from '../vehicles/vehicle-report.js';

const LAKE_OPTIONS = { threads: 1, memoryLimit: '512MB', tables: ['signal_stats', 'uploads'] as const };

type Reset = VehicleExtremes['resets'][number];

/** Lowest and highest of every signal of a vehicle, over all its drives since somebody last set them back. */
export class Extremes {
  constructor(
    private readonly registry: Registry,
    private readonly lakeDirectory: string,
  ) {}

  /** @throws TallybayError `vehicle_not_found` (as all of these) */
  async read(vehicle: string): Promise<VehicleExtremes> {
    found(await this.registry.vehicles.get(vehicle), `vehicle ${vehicle}`, 'vehicle_not_found');
    const resets = await this.registry.extremesResets.ofVehicle(vehicle);
    const lastOf = (signal: string): Reset | null =>
      resets.find(({ signals }) => signals === null || signals.includes(signal)) ?? null;
    const sinceOf = (signal: string): number | null => {
      const reset = lastOf(signal);
      return reset ? Date.parse(reset.at) : null;
    };
    const lake = await Lake.open(this.lakeDirectory, { ...LAKE_OPTIONS, vehicle });
    try {
      const extremes = await signalExtremes(lake, vehicle, sinceOf);
      return {
        vehicle,
        signals: extremes.map(({ signal, lowest, highest }) => {
          const reset = lastOf(signal);
          return {
            ...{ signal, label: nameOf(signal).label, unit: nameOf(signal).unit },
            ...{ lowest: extremeFrom(lowest), highest: extremeFrom(highest), since: reset?.at ?? null },
            ...(reset ? { resetBy: reset.by } : {}),
          };
        }),
        resets,
      };
    } finally {
      lake.close();
    }
  }

  /** From now on only what is recorded later counts. @throws TallybayError `body_invalid` for a signal that the catalogue lacks */
  async reset(vehicle: string, reset: NewExtremesReset): Promise<Reset> {
    found(await this.registry.vehicles.get(vehicle), `vehicle ${vehicle}`, 'vehicle_not_found');
    const index = reset.signals?.findIndex((signal) => !isSignalId(signal)) ?? -1;
    if (index >= 0)
      throw new TallybayError(
        'body_invalid',
        `signals.${index}: there is no signal "${reset.signals?.[index]}" in the catalogue`,
        {
          advice:
            'GET /v1/vehicles/{id}/extremes lists the signals that the vehicle has; without signals all are set back',
          place: { field: `signals.${index}` },
        },
      );
    return this.registry.extremesResets.add(vehicle, reset);
  }
}

const extremeFrom = (extreme: Extreme | null) =>
  extreme && {
    ...{ value: extreme.value, at: isoOf(extreme.atMs), upload: extreme.uploadId, context: extreme.context },
  };
