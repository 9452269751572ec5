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
  column: Pick<ColumnTimes, 'orders' | 'dateSeparator' | 'first' | 'stated'>,
  evidence: OrderEvidence,
): OrderResult {
  const named = column.first.replace(WEEKDAY, '').replace(/\b(?:utc|gmt|[a-z]{3,4}\s*$)/i, '');
  if (/[a-z]{3}/i.test(named) && column.orders.length > 0) {
    return { order: column.orders[0] as DateOrder, why: 'the month is written in letters' };
  }
  const [only, ...others] = ordersInQuestion(column);
  if (only === 'yymd' && others.length === 0)
    return { order: only, why: 'the first number is the year, as the others give none that a recorder can have' };
  if (only && others.length === 0)
    return { order: only, why: only === 'ymd' ? 'the year stands first' : 'a number above 12 settles it' };
  if (column.orders.includes('ymd')) return { order: 'ymd', why: 'the year stands first' };
  if (evidence.profile) {
    const isShort = evidence.profile === 'ymd' && column.orders.includes('yymd');
    return { order: isShort ? 'yymd' : evidence.profile, why: 'saved profile' };
  }
  if (column.stated && column.orders.includes(column.stated))
    return { order: column.stated, why: 'the header states it' };
  const known = byKnownDay(column, evidence.knownDaysMs);
  if (known) return { order: known, why: 'agrees with the date of the file name or the sender' };
  // Digits without marks come from satellite receivers and machines, whatever the habits of the place.
  const votes = isShortDate(column.first) ? [] : localeVotes(column.dateSeparator, evidence);
  const orders = new Set(votes.map((vote) => vote.order));
  if (orders.size === 1) return { order: (votes[0] as Vote).order, why: votes.map((vote) => vote.why).join(', ') };
  const why =
    orders.size === 0
      ? `nothing in the log tells ${column.orders.includes('yymd') ? 'day, month and year' : 'day and month'} apart`
      : `${votes.map((vote) => vote.why).join(' against ')}`;
  return { order: null, why };
}

/** ddmmyy, mmddyy or yymmdd; NMEA 0183 writes the first of them, other recorders the last. */
export function isShortDate(cell: string): boolean {
  return /^\d{6}(?!\d)/.test(cell);
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

/** Recorders that write logs were not built before; an earlier year is another part of the date. */
const EARLIEST_YEAR_MS = Date.UTC(2005, 0, 1);

/**
 * The orders left to decide between. A year of two digits stands first where hyphens set it off, as in ISO 8601 of
 * 1988, or where every other order gives a year before recorders were built.
 */
function ordersInQuestion({ orders, dateSeparator, first }: Pick<ColumnTimes, 'orders' | 'dateSeparator' | 'first'>) {
  if (!orders.includes('yymd')) return orders;
  const isRecent = (order: DateOrder) => (readCalendar(first, order)?.dayMs ?? Number.NaN) >= EARLIEST_YEAR_MS;
  const recent = orders.filter(isRecent);
  if (dateSeparator === '-' || isShortDate(first)) return recent;
  const usual = recent.filter((order) => order !== 'yymd');
  return usual.length > 0 ? usual : recent;
}

function byKnownDay(column: Pick<ColumnTimes, 'orders' | 'dateSeparator' | 'first'>, knownDaysMs: readonly number[]) {
  const days = ordersInQuestion(column).map((order) => ({
    order,
    dayMs: readCalendar(column.first, order)?.dayMs ?? Number.NaN,
  }));
  if (new Set(days.map(({ dayMs }) => dayMs)).size < 2) return null;
  const near = days.filter(({ dayMs }) => knownDaysMs.some((known) => Math.abs(known - dayMs) <= 36 * 3_600_000));
  return near.length === 1 ? (near[0]?.order ?? null) : null;
}
