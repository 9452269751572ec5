import { addressOf, query } from '../../app/location.js';

/** Weeks that the page may show. */
export const WEEK_CHOICES: readonly number[] = [8, 13, 26, 53];
const STANDARD_WEEKS = 8;

export interface Asked {
  weeks: number;
  /** null = up to the newest data. */
  until: string | null;
}

export function spanNow(): Asked {
  const weeks = Number(query.value.get('weeks') ?? STANDARD_WEEKS);
  const until = query.value.get('until');
  return {
    weeks: WEEK_CHOICES.includes(weeks) ? weeks : STANDARD_WEEKS,
    until: until && /^\d{4}-W\d{2}$/.test(until) ? until : null,
  };
}

/** Address of something about one vehicle. */
export const ofVehicle = (vehicle: string, what: string, parameters: Record<string, string | number | null> = {}) =>
  addressOf(`/v1/vehicles/${encodeURIComponent(vehicle)}${what && `/${what}`}`, parameters);
