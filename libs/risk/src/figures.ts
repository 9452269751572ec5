/** Scores and figures are published rounded, so that the last bits of a sum never change a ranking's bytes. */
export const rounded = (value: number, digits: number): number => {
  const factor = 10 ** digits;
  const result = Math.round(value * factor) / factor;
  return result === 0 ? 0 : result;
};

export const roundedOrNull = (value: number | null, digits: number): number | null =>
  value === null ? null : rounded(value, digits);

/** `40 s` below a minute, `1.2 min` below ten, `14 min` above; for sentences. */
export const minutesText = (seconds: number): string => {
  if (seconds < 60) return `${Math.max(1, Math.round(seconds))} s`;
  const minutes = seconds / 60;
  return `${minutes < 10 ? minutes.toFixed(1) : Math.round(minutes)} min`;
};

export const countText = (count: number, noun: string): string => `${count} ${noun}${count === 1 ? '' : 's'}`;
