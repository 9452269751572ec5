import { conversionFor } from '@tallybay/decode';
import { t } from '../text/text.js';
import { type Prefs, prefs } from './prefs.js';

/** The unit that a person sees for a canonical one; units of no choice stay as they are. */
const CHOSEN: Record<string, (chosen: Prefs) => string> = {
  degC: ({ temperature }) => temperature,
  kPa: ({ pressure }) => pressure,
  km: ({ distance }) => distance,
  'km/h': ({ distance }) => (distance === 'mi' ? 'mph' : 'km/h'),
  L: () => 'L',
};

/** @param canonical unit of the catalogue (`degC`, `kPa`, `km`, `km/h`, …) */
export const shownUnit = (canonical: string, chosen: Prefs = prefs.value): string =>
  CHOSEN[canonical]?.(chosen) ?? canonical;

/** Units that a reader may switch a plot of this quantity to; one = there is nothing to choose. */
export const unitChoices = (canonical: string): readonly string[] =>
  ({ degC: ['degC', 'degF'], kPa: ['kPa', 'psi', 'bar'], km: ['km', 'mi'], 'km/h': ['km/h', 'mph'] })[canonical] ?? [
    canonical,
  ];

export const unitLabel = (unit: string): string => (t.units as Record<string, string>)[unit] ?? unit;

/** A canonical value in another unit of its quantity. */
export function inUnit(value: number, canonical: string, unit: string): number {
  const linear = conversionFor(canonical, unit);
  return linear ? value * linear.scale + linear.offset : value;
}

/** Value and unit as people write them, in the unit they chose (or the given one). null is said in words. */
export function quantityText(value: number | null, canonical: string, digits = 0, unit = shownUnit(canonical)): string {
  if (value === null || Number.isNaN(value)) return t.states.noValue;
  const number = inUnit(value, canonical, unit).toLocaleString(t.locale, {
    minimumFractionDigits: digits,
    maximumFractionDigits: digits,
  });
  return `${number} ${unitLabel(unit)}`;
}

/**
 * The service writes its sentences with degrees Celsius. For a reader of Fahrenheit the temperatures in them are converted
 * here; a limit that was written in Fahrenheit is shown as written, and kelvins are intervals, without the offset.
 */
export function sentenceInUnits(text: string, chosen: Prefs = prefs.value): string {
  if (chosen.temperature !== 'degF') return text;
  return text
    .replace(/-?\d+(?:\.\d+)? °C \((-?\d+(?:\.\d+)? °F), /g, '$1 (')
    .replace(/(-?\d+(?:\.\d+)?) °C(?![·\w])/g, (_whole, number: string) => {
      const digits = number.split('.')[1]?.length ?? 0;
      return `${inUnit(Number(number), 'degC', 'degF').toFixed(Math.min(digits, 1))} °F`;
    })
    .replace(/(\d+(?:\.\d+)?) K\b/g, (_whole, number: string) => `${Math.round(Number(number) * 1.8)} °F`);
}
