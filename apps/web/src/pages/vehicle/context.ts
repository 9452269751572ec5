import { isSignalId, signalRow } from '@tallybay/decode';
import { quantityText } from '../../prefs/units.js';
import { t } from '../../text/text.js';

/** Values beside signals that the catalogue lacks. */
const OTHER_UNITS: Record<string, string> = { load_2min_pct: '%', load_excess_pct: '%', grade_pct: '%' };

/** What was recorded beside a value, as `speed 74 km/h, load 82 %`; what was not recorded is left out. */
export function contextText(context: Record<string, number | null>): string {
  const parts = Object.entries(context).flatMap(([id, value]) => {
    const name = t.vehicle.episodes.contexts[id];
    if (value === null || name === undefined) return [];
    return [`${name} ${quantityText(value, isSignalId(id) ? signalRow(id).unit : (OTHER_UNITS[id] ?? ''))}`];
  });
  return parts.length > 0 ? parts.join(', ') : t.vehicle.episodes.noContext;
}

/** Signals to open a recording with: the one that matters, and what was asked of the engine meanwhile. */
export const withContext = (signal: string): string =>
  [...new Set([signal, 'engine_load_pct', 'vehicle_speed_kmh'])].join(',');
