import type { HeatPeakFact } from '../facts.js';

/** Grades nearer to level than this, and load this near to what is usual, are not worth a word. Judgement, no source. */
const LEVEL_PCT = 1.5;
const USUAL_LOAD_POINTS = 10;

/** What went on beside a peak, as the end of a sentence: ` at 62 km/h, load 84 %, uphill 5 %, ambient 38 °C`. Empty without any. */
export function peakText(peak: HeatPeakFact | null): string {
  if (!peak) return '';
  const { context } = peak;
  const said = (key: string, text: (value: number) => string | null): string[] => {
    const value = context[key];
    const words = value === null || value === undefined ? null : text(value);
    return words === null ? [] : [words];
  };
  const parts = [
    ...said('vehicle_speed_kmh', (value) => (value < 1 ? 'standing' : `${value.toFixed(0)} km/h`)),
    ...said('engine_load_pct', (value) => `load ${value.toFixed(0)} %`),
    ...said('load_2min_pct', (value) => `${value.toFixed(0)} % over the two minutes before`),
    ...said('grade_pct', (value) =>
      Math.abs(value) < LEVEL_PCT ? null : `${value > 0 ? 'uphill' : 'downhill'} ${Math.abs(value).toFixed(0)} %`,
    ),
    ...said('ambient_temp_c', (value) => `ambient ${value.toFixed(0)} °C`),
    ...said('load_excess_pct', (value) =>
      value < USUAL_LOAD_POINTS
        ? null
        : `the drive's mean load ${value.toFixed(0)} points above its other drives at like speed, as when towing or loaded`,
    ),
  ];
  return parts.length > 0 ? ` (${parts.join(', ')})` : '';
}
