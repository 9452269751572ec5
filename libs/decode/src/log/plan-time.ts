import type { TextRow } from '../csv/cells.js';
import type { PreambleFacts } from '../csv/preamble.js';
import type { UnitHabit } from '../signals/map-channels.js';
import { decideOrder } from './date-order.js';
import { chooseTime, refusedTime, type TimeChoice } from './detect-time.js';
import { RowClock } from './row-clock.js';
import { dateText, readWrittenStart, startFromFileName, type WrittenStart } from './start-hints.js';
import { type ColumnTimes, columnTimes, headerZone, offsetZone, readCalendar } from './time-columns.js';
import { timeFormat } from './time-formats.js';
import { anchorFirstRow, settleStart, timeNeed } from './time-need.js';
import type { CsvDialect, LogPlan, PlanHints, TimePlan } from './types.js';
import { isTimeZone } from './zone.js';

/** What time detection looks at. */
export interface TimeInput {
  headers: readonly string[];
  unitCells: readonly (string | null)[];
  rows: readonly TextRow[];
  dialect: Pick<CsvDialect, 'delimiter' | 'decimal'>;
  habit: UnitHabit;
  facts: PreambleFacts;
  hints: PlanHints;
}

export type TimeResult = { time: TimePlan; decisions: LogPlan['decisions'] } | { time: null; refused: string | null };

/** The time plan with its decisions; `refused`: why the column that is named like time is none. */
export function planTime(input: TimeInput): TimeResult {
  const { headers, rows, dialect, hints, facts } = input;
  const comma = dialect.decimal === ',';
  const columns = headers.map((header, index) =>
    columnTimes(
      header,
      index,
      rows.map((row) => row.cells[index] ?? ''),
      comma,
    ),
  );
  const fromName = hints.fileName === undefined ? null : startFromFileName(hints.fileName);
  const knownDaysMs = [
    ...(fromName ? [Date.parse(`${fromName.date}T00:00:00Z`)] : []),
    ...(hints.recordedAtMs === undefined ? [] : [Date.parse(`${dateText(hints.recordedAtMs)}T00:00:00Z`)]),
  ];
  const evidence = { ...dialect, habit: input.habit, profile: hints.profile?.dateOrder, knownDaysMs };
  const choice = chooseTime(columns, input.unitCells, evidence);
  if (!choice) return { time: null, refused: refusedTime(columns) };
  const decisions: LogPlan['decisions'] = [{ what: 'time', value: choice.format, why: choice.why }];
  const time = bareTime(choice);
  setZone(time, input, decisions);
  if (time.kind === 'local' && time.timeZone === null) {
    setZoneBeside(
      time,
      columns.filter(({ hasOffset }) => hasOffset),
      input,
      decisions,
    );
  }
  time.firstMs = firstOwnMs(time, rows, comma);
  const order = decideOrder(
    { orders: ['dmy', 'mdy'], dateSeparator: null, first: '', stated: null },
    { ...evidence, twelveHour: false },
  ).order;
  const written = facts.starts.map((text) => readWrittenStart(text, order)).filter((start) => start !== null);
  setStart(time, { written, fromName, recordedAtMs: hints.recordedAtMs }, decisions);
  return { time, decisions };
}

function bareTime(choice: TimeChoice): TimePlan {
  const { kind } = timeFormat(choice.format);
  return {
    kind,
    columns: choice.columns,
    format: choice.format,
    ...(choice.fraction ? { fraction: choice.fraction } : {}),
    ...(choice.fill ? { fill: choice.fill } : {}),
    timeZone: kind === 'absolute' ? 'UTC' : null,
    startDate: null,
    startMs: null,
  };
}

function setZone(time: TimePlan, { headers, facts, hints }: TimeInput, decisions: LogPlan['decisions']): void {
  if (time.kind === 'absolute') return;
  const inHeader = time.columns.map((column) => headerZone(headers[column] ?? '')).find((zone) => zone !== null);
  const sources: [string | null | undefined, string][] = [
    [inHeader, 'named by the header'],
    [facts.zone === null ? null : (offsetZone(facts.zone) ?? facts.zone.trim()), 'named before the header'],
    [hints.profile?.timeZone, 'saved profile'],
    [hints.timeZone, 'given with the upload'],
  ];
  for (const [zone, why] of sources) {
    if (!zone) continue;
    if (isTimeZone(zone)) {
      time.timeZone = zone;
      decisions.push({ what: 'time zone', value: zone, why });
      return;
    }
    decisions.push({ what: 'time zone', value: 'unknown', why: `"${zone}", ${why}, is no zone name` });
  }
}

const QUARTER_MS = 900_000;
const MINUTE_MS = 60_000;
const MAX_OFFSET_MS = 14 * 3_600_000;

/**
 * A clock without a zone beside one that states its offset, such as a recorder's beside a satellite receiver's: they are
 * a whole number of quarter hours apart, in every row, and that is the zone's offset.
 */
function setZoneBeside(
  time: TimePlan,
  beside: readonly ColumnTimes[],
  { rows, dialect }: TimeInput,
  decisions: LogPlan['decisions'],
): void {
  const clock = new RowClock({ ...time, timeZone: null }, dialect.decimal === ',');
  for (const { index, header, orders } of beside) {
    const offsets = rows.flatMap((row) => {
      const stated = readCalendar((row.cells[index] ?? '').trim(), orders[0] ?? null);
      if (!stated || Number.isNaN(stated.offsetMs)) return [];
      return ownMsOf(clock, row, time.columns) - (stated.dayMs + stated.clockMs - stated.offsetMs);
    });
    const known = offsets.filter((offset) => !Number.isNaN(offset));
    const offsetMs = Math.round((known[0] ?? Number.NaN) / QUARTER_MS) * QUARTER_MS;
    const agrees = known.every((offset) => Math.abs(offset - offsetMs) <= MINUTE_MS);
    if (known.length === 0 || !agrees || Math.abs(offsetMs) > MAX_OFFSET_MS) continue;
    time.timeZone = offsetText(offsetMs);
    const why = `"${header}" states its own offset, and the two clocks agree so`;
    decisions.push({ what: 'time zone', value: time.timeZone, why });
    return;
  }
}

function offsetText(offsetMs: number): string {
  const minutes = Math.abs(offsetMs) / MINUTE_MS;
  const two = (value: number) => String(value).padStart(2, '0');
  return minutes === 0 ? 'UTC' : `${offsetMs < 0 ? '-' : '+'}${two(Math.floor(minutes / 60))}:${two(minutes % 60)}`;
}

function firstOwnMs(time: TimePlan, rows: readonly TextRow[], comma: boolean): number {
  const clock = new RowClock({ ...time, timeZone: null }, comma);
  for (const row of rows) {
    const ms = ownMsOf(clock, row, time.columns);
    if (!Number.isNaN(ms)) return ms;
  }
  return 0;
}

const encoder = new TextEncoder();

/** A row of the head on the log's own clock; NaN = unreadable. */
function ownMsOf(clock: RowClock, row: TextRow, columns: readonly number[]): number {
  const cells = row.cells.map((cell) => encoder.encode(cell));
  if (!columns.every((column) => column < cells.length)) return Number.NaN;
  const bytes = new Uint8Array(cells.reduce((sum, cell) => sum + cell.length, 0));
  const starts = new Int32Array(cells.length);
  const ends = new Int32Array(cells.length);
  let at = 0;
  cells.forEach((cell, index) => {
    starts[index] = at;
    bytes.set(cell, at);
    ends[index] = at += cell.length;
  });
  return clock.parse(bytes, starts, ends, columns);
}

interface StartSources {
  written: WrittenStart[];
  fromName: ReturnType<typeof startFromFileName>;
  recordedAtMs: number | undefined;
}

/** In order of trust: the log itself, the sender, the file's name. */
function setStart(time: TimePlan, sources: StartSources, decisions: LogPlan['decisions']): void {
  if (time.kind === 'clock') setClockDate(time, sources, decisions);
  else if (time.kind === 'elapsed') setElapsedStart(time, sources, decisions);
}

function setClockDate(
  time: TimePlan,
  { written, fromName, recordedAtMs }: StartSources,
  decisions: LogPlan['decisions'],
): void {
  // An ambiguous date column is not settled by another date: both could be right.
  const dated = time.format === 'dmy-or-mdy' ? null : (written[0]?.date ?? fromName?.date ?? null);
  if (dated !== null) {
    time.startDate = dated;
    decisions.push({
      what: 'date of the first row',
      value: dated,
      why: written[0] ? 'stands before the header' : 'stands in the file name',
    });
  }
  anchorIfNeeded(time, recordedAtMs, decisions);
}

function setElapsedStart(
  time: TimePlan,
  { written, fromName, recordedAtMs }: StartSources,
  decisions: LogPlan['decisions'],
): void {
  const absolute = written.find((start) => start.utcMs !== null);
  const local = written.find((start) => start.local !== null);
  if (absolute) {
    time.startMs = absolute.utcMs;
    decisions.push({
      what: 'start',
      value: new Date(absolute.utcMs as number).toISOString(),
      why: 'stands before the header',
    });
    return;
  }
  if (local?.local) setLocalStart(time, local.local, 'stands before the header', decisions);
  anchorIfNeeded(time, recordedAtMs, decisions);
  if (time.startMs === null && !local && fromName?.clock) {
    setLocalStart(time, `${fromName.date}T${fromName.clock}`, 'stands in the file name', decisions);
  }
}

function setLocalStart(time: TimePlan, local: string, why: string, decisions: LogPlan['decisions']): void {
  time.startLocal = local;
  settleStart(time);
  decisions.push({ what: 'start', value: `${local} ${time.timeZone ?? 'in an unknown zone'}`, why });
}

function anchorIfNeeded(time: TimePlan, recordedAtMs: number | undefined, decisions: LogPlan['decisions']): void {
  if (recordedAtMs === undefined || timeNeed({ time } as LogPlan) === null) return;
  if (!anchorFirstRow(time, recordedAtMs)) return;
  decisions.push({ what: 'first row', value: new Date(recordedAtMs).toISOString(), why: 'given with the upload' });
}
