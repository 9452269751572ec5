import type { VehicleHeatReport } from '@tallybay/contracts';
import type { VehicleFacts, VehicleHeat } from '@tallybay/risk';

export const isoOf = (ms: number): string => new Date(ms).toISOString();

/** The answers' shapes from libs/risk's: instants as RFC 3339, internals left out. */
export function heatWeekFrom(week: string, facts: VehicleFacts, heat: VehicleHeat): VehicleHeatReport['weeks'][number] {
  return {
    week,
    engineHours: heat.engineHours,
    distanceKm: heat.distanceKm,
    drives: facts.drives.length,
    signals: heat.signals.map(({ signal, label, state, finding, engineHours, maxC, stages }) => ({
      ...{ signal, label, state, engineHours, maxC },
      finding: finding?.text ?? null,
      stages: stages.map(({ stage, valueC, written, seconds, degreeMinutes, exact }) => ({
        ...{ stage, valueC, written, seconds, degreeMinutes, exact },
      })),
    })),
  };
}
