import { t } from '../../text/text.js';

const STEPS = ['B', 'kB', 'MB', 'GB'] as const;

/** Decimal steps, as file managers and line speeds use them. */
export function sizeText(bytes: number): string {
  const step = Math.min(STEPS.length - 1, Math.max(0, Math.floor(Math.log10(Math.max(1, bytes)) / 3)));
  const value = bytes / 1000 ** step;
  return `${value.toLocaleString(t.locale, { maximumFractionDigits: value < 10 && step > 0 ? 1 : 0 })} ${STEPS[step]}`;
}
