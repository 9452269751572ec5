import { timeFormat } from './time-formats.js';
import type { LogPlan, TimeNeed, TimePlan } from './types.js';
import { isTimeZone, ZoneClock } from './zone.js';

/** What is missing before the rows of this plan have UTC instants. */
export function timeNeed(plan: LogPlan): TimeNeed {
  const { kind, startMs, startDate, startLocal, timeZone } = plan.time;
  if (kind === 'absolute' || startMs !== null) return null;
  if (kind === 'local') return timeZone === null ? 'zone_missing' : null;
  if (kind === 'elapsed') return startLocal === undefined ? 'time_missing' : 'zone_missing';
  if (startDate === null) return 'time_missing';
  return timeZone === null ? 'zone_missing' : null;
}

export interface TimeAnswer {
  /** Instant of the first row. */
  recordedAtMs?: number;
  timeZone?: string;
}

/**
 * The plan with what a person or the sender said later. What the log itself says stays: an answer only fills what is
 * missing. `recordedAtMs` anchors the first row of clock-only and elapsed times.
 * @throws RangeError for a zone that the runtime does not know, or an instant that is no number.
 */
export function withTime(plan: LogPlan, answer: TimeAnswer): LogPlan {
  const { recordedAtMs, timeZone } = answer;
  if (timeZone !== undefined && !isTimeZone(timeZone)) {
    throw new RangeError(`Time zone "${timeZone}" is not known; give an IANA name such as Europe/Berlin.`);
  }
  if (recordedAtMs !== undefined && !Number.isFinite(recordedAtMs)) {
    throw new RangeError(`The time of recording "${recordedAtMs}" is no instant; give milliseconds since 1970.`);
  }
  const time: TimePlan = { ...plan.time, columns: [...plan.time.columns] };
  const decisions = [...plan.decisions];
  if (timeZone !== undefined && time.timeZone === null && time.kind !== 'absolute') {
    time.timeZone = timeZone;
    decisions.push({ what: 'time zone', value: timeZone, why: 'given with the upload' });
  }
  settleStart(time);
  if (recordedAtMs !== undefined && timeNeed({ ...plan, time }) !== null && anchorFirstRow(time, recordedAtMs)) {
    decisions.push({ what: 'first row', value: new Date(recordedAtMs).toISOString(), why: 'given with the upload' });
  }
  return { ...plan, time, decisions };
}

/** A wall-clock start becomes an instant as soon as its zone is known. */
export function settleStart(time: TimePlan): void {
  if (time.kind !== 'elapsed' || time.startLocal === undefined || time.timeZone === null || time.startMs !== null)
    return;
  time.startMs = new ZoneClock(time.timeZone).toUtcMs(Date.parse(`${time.startLocal}Z`));
}

/** False for local times with a date: they need a zone, not an instant. */
export function anchorFirstRow(time: TimePlan, recordedAtMs: number): boolean {
  const { kind } = timeFormat(time.format);
  if (kind === 'clock') {
    time.startMs = recordedAtMs;
    return true;
  }
  if (kind !== 'elapsed') return false;
  time.startMs = recordedAtMs - (time.firstMs ?? 0);
  return true;
}
