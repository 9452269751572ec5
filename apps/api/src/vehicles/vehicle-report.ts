import type { VehicleHeatReport } from '@tallybay/contracts';
import type { VehicleFacts, VehicleHeat } from '@tallybay/risk';

/** Null where there is nothing to divide by: no rate is not a rate of zero. */
function ratesOf(amounts: { minutes: number; degreeMinutes: number }, hours: number, km: number | null) {
  const perHour = (amount: number) => (hours > 0 ? amount / hours : null);
  const per100Km = (amount: number) => (km ? (amount / km) * 100 : null);
  return {
    ...{ minutesPerEngineHour: perHour(amounts.minutes), minutesPer100Km: per100Km(amounts.minutes) },
    degreeMinutesPerEngineHour: perHour(amounts.degreeMinutes),
    degreeMinutesPer100Km: per100Km(amounts.degreeMinutes),
  };
}

export const isoOf = (ms: number): string => new Date(ms).toISOString();

/** The answers' shapes from libs/risk's: instants as RFC 3339, internals left out. */
export function heatWeekFrom(week: string, facts: VehicleFacts, heat: VehicleHeat): VehicleHeatReport['weeks'][number] {
  return {
    week,
    engineHours: heat.engineHours,
    distanceKm: heat.distanceKm,
    drives: facts.drives.length,
    signals: heat.signals.map(({ signal, label, state, finding, engineHours, distanceKm, maxC, stages }) => ({
      ...{ signal, label, state, engineHours, maxC },
      finding: finding?.text ?? null,
      stages: stages.map(({ stage, valueC, written, seconds, degreeMinutes, exact }) => ({
        ...{ stage, valueC, written, seconds, degreeMinutes, exact },
        ...ratesOf({ minutes: seconds / 60, degreeMinutes }, engineHours, distanceKm),
      })),
    })),
  };
}
