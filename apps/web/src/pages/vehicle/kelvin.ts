import { prefs } from '../../prefs/prefs.js';
import { t } from '../../text/text.js';

const FAHRENHEIT_PER_KELVIN = 1.8;

/** A difference of temperatures in the reader's degrees: without the offset that a temperature has. */
export const difference = (kelvin: number): number =>
  prefs.value.temperature === 'degF' ? kelvin * FAHRENHEIT_PER_KELVIN : kelvin;
export const differenceUnit = (): string => (prefs.value.temperature === 'degF' ? t.units.degF : t.units['K-interval']);

export function kelvinText(kelvin: number, signed = false): string {
  const value = difference(kelvin);
  const sign = value < 0 ? '−' : signed ? '+' : '';
  return `${sign}${Math.abs(value).toFixed(1)} ${differenceUnit()}`;
}
