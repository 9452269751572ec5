import type { MonitorForecastReport, VerdictNameReport } from '@tallybay/contracts';

export const VERDICT_WORDS: Record<VerdictNameReport, string> = {
  would_pass: 'would pass',
  would_be_refused: 'would be refused',
  would_fail: 'would fail',
  not_enough_data: 'not enough data',
  not_subject: 'not subject',
};

export const OUTLOOK_WORDS: Record<MonitorForecastReport['outlook'], string> = {
  likely: 'likely complete',
  uncertain: 'uncertain',
  unlikely: 'unlikely',
  too_little_history: 'too little history',
};

/** `81 % (62 to 95 %)`. */
export const chanceText = ({ chance, low, high }: { chance: number; low: number; high: number }): string =>
  `${percent(chance)} % (${percent(low)} to ${percent(high)} %)`;

const percent = (share: number): number => Math.round(share * 100);
