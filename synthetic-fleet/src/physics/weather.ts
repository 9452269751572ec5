import { dayOfYear, hourOfDay, isoDate, weeksEarlier } from '../calendar.js';
import type { DepotRow } from '../fleet/depots.js';
import type { RandomStream } from '../random.js';

/** Where and under which weather: that of `weeksShifted` weeks before the date. */
export interface WeatherPlace {
  depot: DepotRow;
  weeksShifted: number;
}

/** Air temperature [degC]: season (warmest about 20 July), day cycle (warmest at 15 h), and a deviation for the day. */
export function ambientAt({ depot, weeksShifted }: WeatherPlace, fleet: RandomStream, atMs: number): number {
  const ms = weeksEarlier(atMs, weeksShifted, depot.timeZone);
  const season = Math.cos((2 * Math.PI * (dayOfYear(ms, depot.timeZone) - 201)) / 365.25);
  const day = Math.cos((2 * Math.PI * (hourOfDay(ms, depot.timeZone) - 15)) / 24);
  const deviation = 3 * fleet.split('weather', depot.id, isoDate(ms, depot.timeZone)).normal();
  return depot.yearMeanC + depot.yearSwingK * season + depot.daySwingK * day + deviation;
}

/** Barometric pressure [kPa] at a height, standard atmosphere. */
export function baroKpaAt(elevationM: number): number {
  return 101.325 * (1 - 2.25577e-5 * elevationM) ** 5.25588;
}
