import { type DateOrder, WEEKDAY } from './calendar-cells.js';
import { type ColumnTimes, readCalendar } from './time-columns.js';

/** What else the log says about where it was written. */
export interface OrderEvidence {
  profile: DateOrder | undefined;
  delimiter: string;
  decimal: '.' | ',';
  /** Units of the channels: US customary, metric, both, none. */
  habit: 'us' | 'metric' | 'mixed' | 'none' | 'doubtful';
  twelveHour: boolean;
  /** Days (UTC midnight, ms) on which the log is known to have been written: file name, sender. */
  knownDaysMs: readonly number[];
}

export type OrderResult = { order: DateOrder; why: string } | { order: null; why: string };

/**
 * Which of day-month and month-day a date column uses. Values above twelve decide; then what is known of the day; then
 * the habits of the place. Evidence that disagrees, or none, is no answer: the order is never guessed.
 */
export function decideOrder(
  column: Pick<ColumnTimes, 'orders' | 'dateSeparator' | 'first'>,
  evidence: OrderEvidence,
): OrderResult {
  const named = column.first.replace(WEEKDAY, '').replace(/\b(?:utc|gmt|[a-z]{3,4}\s*$)/i, '');
  if (/[a-z]{3}/i.test(named) && column.orders.length > 0) {
    return { order: column.orders[0] as DateOrder, why: 'the month is written in letters' };
  }
  const [only, ...others] = column.orders;
  if (only && others.length === 0)
    return { order: only, why: only === 'ymd' ? 'the year stands first' : 'a number above 12 settles it' };
  if (column.orders.includes('ymd')) return { order: 'ymd', why: 'the year stands first' };
  if (evidence.profile) return { order: evidence.profile, why: 'saved profile' };
  const known = byKnownDay(column.first, evidence.knownDaysMs);
  if (known) return { order: known, why: 'agrees with the date of the file name or the sender' };
  const votes = localeVotes(column.dateSeparator, evidence);
  const orders = new Set(votes.map((vote) => vote.order));
  if (orders.size === 1) return { order: (votes[0] as Vote).order, why: votes.map((vote) => vote.why).join(', ') };
  const why =
    orders.size === 0
      ? 'nothing in the log tells day and month apart'
      : `${votes.map((vote) => vote.why).join(' against ')}`;
  return { order: null, why };
}

interface Vote {
  order: DateOrder;
  why: string;
}

function localeVotes(separator: string | null, evidence: OrderEvidence): Vote[] {
  const votes: Vote[] = [];
  if (separator === '.') votes.push({ order: 'dmy', why: 'dots between the parts' });
  if (evidence.decimal === ',') votes.push({ order: 'dmy', why: 'decimal comma' });
  if (evidence.twelveHour) votes.push({ order: 'mdy', why: 'AM and PM' });
  if (evidence.habit === 'us') votes.push({ order: 'mdy', why: 'US units' });
  return votes;
}

function byKnownDay(first: string, knownDaysMs: readonly number[]): DateOrder | null {
  const days = (['dmy', 'mdy'] as const).map((order) => ({
    order,
    dayMs: readCalendar(first, order)?.dayMs ?? Number.NaN,
  }));
  if (days[0]?.dayMs === days[1]?.dayMs) return null;
  const near = days.filter(({ dayMs }) => knownDaysMs.some((known) => Math.abs(known - dayMs) <= 36 * 3_600_000));
  return near.length === 1 ? (near[0]?.order ?? null) : null;
}
