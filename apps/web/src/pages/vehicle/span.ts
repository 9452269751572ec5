import type { VehicleWeeks } from '@tallybay/contracts';
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

export interface ShownWeeks {
  /** Index of the first week with anything in it; what lies before is left out of plots and tables. */
  first: number;
  names: string[];
}

/** Weeks from the first one with a drive or a snapshot on; all of them when there is none. */
export function shownWeeks(data: VehicleWeeks): ShownWeeks {
  const first = Math.max(
    0,
    data.weeks.findIndex(({ drives, snapshots }) => drives > 0 || snapshots > 0),
  );
  return { first, names: data.weeks.slice(first).map(({ week }) => week) };
}

type Stage = VehicleWeeks['signals'][number]['stages'][number];

/** Highest stage that was reached in one week for longer than a moment; null = none. */
export function highestStage(
  signal: VehicleWeeks['signals'][number],
  week: number,
): { stage: Stage; seconds: number } | null {
  const seconds = signal.weeks[week]?.atOrAbove ?? [];
  const index = seconds.findLastIndex((value) => value > 0);
  const stage = signal.stages[index];
  return stage ? { stage, seconds: seconds[index]! } : null;
}

const HEIGHTS = ['watch', 'caution', 'alarm', 'severe'];

/** The temperature that stands highest: by stage in the newest driven week it was recorded in, then by time there. */
export function worstSignal(data: VehicleWeeks): string | null {
  let worst: { signal: string; height: number; seconds: number } | null = null;
  for (const signal of data.signals) {
    const week = signal.weeks.findLastIndex(({ seconds }) => seconds > 0);
    const reached = highestStage(signal, week);
    const height = reached ? HEIGHTS.indexOf(reached.stage.stage) : -1;
    const seconds = reached?.seconds ?? 0;
    if (!worst || height > worst.height || (height === worst.height && seconds > worst.seconds))
      worst = { signal: signal.signal, height, seconds };
  }
  return worst?.signal ?? null;
}
