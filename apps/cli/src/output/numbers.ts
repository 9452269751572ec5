/** Numbers for people: the same on every machine, whatever its locale. */

export const countText = (count: number): string => count.toLocaleString('en-US');

/** At most `digits` decimals, without trailing zeros; a dash where there is no number. */
export function valueText(value: number | null | undefined, digits = 3): string {
  if (value === null || value === undefined) return '-';
  return String(Number(value.toFixed(digits)));
}

const BYTE_STEPS = [
  { bytes: 1e9, unit: 'GB' },
  { bytes: 1e6, unit: 'MB' },
  { bytes: 1e3, unit: 'kB' },
];

export function bytesText(bytes: number): string {
  const step = BYTE_STEPS.find((row) => bytes >= row.bytes);
  return step ? `${(bytes / step.bytes).toFixed(1)} ${step.unit}` : `${bytes} B`;
}

/** `42 s`, `3 min 05 s`, `2 h 10 min`. */
export function durationText(seconds: number): string {
  const whole = Math.round(seconds);
  if (whole < 60) return `${whole} s`;
  if (whole < 3600) return `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, '0')} s`;
  return `${Math.floor(whole / 3600)} h ${String(Math.floor((whole % 3600) / 60)).padStart(2, '0')} min`;
}

/** `1 file`, `3 files`. */
export const plural = (count: number, noun: string): string => `${countText(count)} ${noun}${count === 1 ? '' : 's'}`;
