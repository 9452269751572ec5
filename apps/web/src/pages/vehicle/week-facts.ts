import type { VehicleWeeks } from '@tallybay/contracts';

export type SignalWeeks = VehicleWeeks['signals'][number];

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

type Stage = SignalWeeks['stages'][number];

/** Highest stage that was reached in one week; null = none. */
export function highestStage(signal: SignalWeeks, week: number): { stage: Stage; seconds: number } | null {
  const seconds = signal.weeks[week]?.atOrAbove ?? [];
  const index = seconds.findLastIndex((value) => value > 0);
  const stage = signal.stages[index];
  return stage ? { stage, seconds: seconds[index]! } : null;
}

const HEIGHTS = ['watch', 'caution', 'alarm', 'severe'];

/**
 * The temperature that stands highest in the newest week it was recorded in: by the stage it reached, then by the time there,
 * then by how near it came to its lowest stage.
 */
export function worstSignal(data: VehicleWeeks): string | null {
  const standing = data.signals.map((signal) => {
    const week = signal.weeks.findLastIndex(({ seconds }) => seconds > 0);
    const reached = highestStage(signal, week);
    const max = signal.weeks[week]?.max ?? null;
    const lowest = signal.stages[0]?.value;
    return {
      signal: signal.signal,
      height: reached ? HEIGHTS.indexOf(reached.stage.stage) : -1,
      seconds: reached?.seconds ?? 0,
      nearness: max === null || lowest === undefined ? Number.NEGATIVE_INFINITY : max - lowest,
    };
  });
  const [worst] = standing.sort(
    (a, b) =>
      b.height - a.height || b.seconds - a.seconds || (b.nearness > a.nearness ? 1 : b.nearness < a.nearness ? -1 : 0),
  );
  return worst?.signal ?? null;
}

export interface HotRun {
  stage: Stage;
  /** First week of the run, and how many weeks with the signal it has. */
  first: number;
  weeks: number;
  /** The run reaches back to the first week with the signal: it may have begun before. */
  fromStart: boolean;
}

/**
 * The unbroken run of weeks, back from the newest in which the signal was recorded, that reached caution or more; null when
 * the newest did not. A week without the signal neither breaks nor lengthens it: nothing is known of it.
 */
export function hotRun(signal: SignalWeeks): HotRun | null {
  const caution = signal.stages.findIndex(({ stage }) => stage !== 'watch');
  const stage = signal.stages[caution];
  if (!stage) return null;
  const recorded = signal.weeks.flatMap(({ seconds }, index) => (seconds > 0 ? [index] : []));
  const cool = recorded.findLastIndex((index) => !(signal.weeks[index]!.atOrAbove[caution]! > 0));
  const run = recorded.slice(cool + 1);
  const [first] = run;
  return first === undefined ? null : { stage, first, weeks: run.length, fromStart: cool < 0 };
}
