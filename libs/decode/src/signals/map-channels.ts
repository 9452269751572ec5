import type { ChannelPlan, LogPlan, PlanHints } from '../log/types.js';
import { conversionFor, findUnit, unitFits } from '../units/convert.js';
import { isSignalId, type SignalRow, signalRow } from './catalogue.js';
import { type HeaderMatch, matchHeader, unitMatters } from './match.js';

/** What is known of a column before mapping: its header, its cell in a unit row, and the numbers in the head. */
export interface ColumnSample {
  header: string;
  unitRowCell: string | null;
  /** 10th and 90th percentile of the numbers in the head, so that a spike decides nothing; null = none there. */
  range: { min: number; max: number } | null;
}

export interface Mapping {
  channels: ChannelPlan[];
  decisions: LogPlan['decisions'];
}

/** Confidence in a canonical unit that the log does not state. */
const UNIT_ASSUMED_METRIC_LOG = 0.75;
const UNIT_ASSUMED_BARE_LOG = 0.55;

const US_UNITS: ReadonlySet<string> = new Set([
  'degF',
  'psi',
  'mph',
  'mi',
  'ft',
  'lb/min',
  'lb/h',
  'gal/h',
  'gal',
  'lbf.ft',
  'inHg',
  'lb',
]);
const METRIC_UNITS: ReadonlySet<string> = new Set([
  'degC',
  'kPa',
  'bar',
  'hPa',
  'km/h',
  'km',
  'm',
  'g/s',
  'kg/h',
  'L/h',
  'L',
  'N.m',
]);

export type UnitHabit = 'us' | 'metric' | 'mixed' | 'none' | 'doubtful';

/** Which habit the stated units of a log follow. */
export function unitHabit(unitIds: readonly (string | null)[]): UnitHabit {
  const us = unitIds.some((id) => id !== null && US_UNITS.has(id));
  const metric = unitIds.some((id) => id !== null && METRIC_UNITS.has(id));
  if (us) return metric ? 'mixed' : 'us';
  return metric ? 'metric' : 'none';
}

/**
 * Maps columns to signals. One signal has at most one column: the more confident, then the first. Whatever is not mapped
 * keeps its reason. Values decide nothing by themselves; they only veto a unit that had to be assumed.
 */
export function mapChannels(
  columns: readonly ColumnSample[],
  hints: Pick<PlanHints, 'profile' | 'speedFactor'>,
): Mapping {
  const matches = columns.map((column) => matchHeader(column.header, column.unitRowCell));
  const stated = unitHabit(matches.map((match) => match.unit?.id ?? null));
  // One unstated unit that its values contradict puts all the others of the log in doubt.
  const isDoubtful = matches.some((match, index) => {
    const isOpen = match.row !== null && match.unit === null && unitMatters(match.row.quantity);
    return isOpen && match.row !== null && exceedsUsual(columns[index] as ColumnSample, match.row);
  });
  const habit = stated === 'none' && isDoubtful ? 'doubtful' : stated;
  const decisions: LogPlan['decisions'] = [];
  const channels = columns.map((column, index) => {
    const saved = savedChannel(column, hints.profile?.channels, decisions);
    return saved ?? decide(column, matches[index] as HeaderMatch, habit, decisions);
  });
  dropRivals(channels, decisions);
  scaleSpeed(channels, hints.speedFactor, decisions);
  return { channels, decisions };
}

function decide(
  column: ColumnSample,
  match: HeaderMatch,
  habit: UnitHabit,
  decisions: LogPlan['decisions'],
): ChannelPlan {
  const { header } = column;
  const { row, unit } = match;
  if (!row) return unmapped(header, match.unitText, match.why);
  if (unit) return mapped(column, match, unit.id, match.confidence, match.why);
  if (!unitMatters(row.quantity)) return mapped(column, match, row.unit, match.confidence, match.why);
  const doubt = doubtUnit(column, row, habit);
  if (doubt) {
    decisions.push({ what: `channel "${header}"`, value: 'not mapped', why: doubt });
    return unmapped(header, null, doubt);
  }
  const factor = habit === 'metric' ? UNIT_ASSUMED_METRIC_LOG : UNIT_ASSUMED_BARE_LOG;
  const why = `${match.why}; no unit stated, ${row.unit} assumed`;
  decisions.push({
    what: `unit of "${header}"`,
    value: row.unit,
    why:
      habit === 'metric'
        ? 'no unit stated; the other channels are metric'
        : 'no unit stated; nothing in the log confirms it',
  });
  return mapped(column, match, row.unit, match.confidence * factor, why);
}

function doubtUnit(column: ColumnSample, row: UnitLimits, habit: UnitHabit): string | null {
  if (exceedsUsual(column, row)) {
    return `looks like ${row.id} but states no unit, and ${column.range?.max} is above ${limitOf(row)} ${row.unit}`;
  }
  // Seconds and hours are the same in both habits.
  if (row.quantity === 'time') return null;
  if (habit === 'us' || habit === 'mixed') {
    return `looks like ${row.id} but states no unit, and other channels of this log are in US units`;
  }
  return habit === 'doubtful'
    ? `looks like ${row.id} but states no unit, and other values of this log fit no metric unit`
    : null;
}

type UnitLimits = Pick<SignalRow, 'id' | 'unit' | 'quantity' | 'usualMax' | 'max'>;

const limitOf = ({ usualMax, max }: UnitLimits) => usualMax ?? max;

function exceedsUsual({ range }: ColumnSample, row: UnitLimits): boolean {
  return range !== null && range.max > limitOf(row);
}

function mapped(
  { header }: ColumnSample,
  match: HeaderMatch,
  from: string,
  confidence: number,
  why: string,
): ChannelPlan {
  const row = signalRow(match.row?.id ?? '');
  const linear = conversionFor(from, row.unit);
  if (!linear)
    return unmapped(header, match.unitText, `"${match.unitText}" does not convert to ${row.unit} by a factor`);
  const rounded = Math.round(confidence * 100) / 100;
  return { header, sourceUnit: match.unitText, role: 'signal', signal: row.id, ...linear, confidence: rounded, why };
}

/** A channel of a saved profile; a person decided, so confidence is 1. */
function savedChannel(
  column: ColumnSample,
  profile: NonNullable<PlanHints['profile']>['channels'],
  decisions: LogPlan['decisions'],
): ChannelPlan | null {
  const saved = profile && Object.hasOwn(profile, column.header) ? profile[column.header] : undefined;
  if (!saved) return null;
  const { header } = column;
  if (saved.signal === null) return unmapped(header, saved.unit ?? null, 'left out by the profile');
  if (!isSignalId(saved.signal)) {
    const why = `the profile names "${saved.signal}", which is not in the catalogue`;
    decisions.push({ what: `channel "${header}"`, value: 'not mapped', why });
    return unmapped(header, saved.unit ?? null, why);
  }
  const row = signalRow(saved.signal);
  const stated = saved.unit ?? matchHeader(header, column.unitRowCell).unitText;
  const unit = stated === null ? findUnit(row.unit) : findUnit(stated, row.quantity);
  const linear = unit && unitFits(unit, row.quantity) ? conversionFor(unit.id, row.unit) : null;
  if (!linear) {
    const why = `the profile maps it to ${row.id}, but "${stated}" is no unit of ${row.quantity}`;
    decisions.push({ what: `channel "${header}"`, value: 'not mapped', why });
    return unmapped(header, stated, why);
  }
  return { header, sourceUnit: stated, role: 'signal', signal: row.id, ...linear, confidence: 1, why: 'saved profile' };
}

function dropRivals(channels: ChannelPlan[], decisions: LogPlan['decisions']): void {
  const winner = new Map<string, number>();
  channels.forEach((channel, index) => {
    if (channel.signal === null) return;
    const known = winner.get(channel.signal);
    if (known === undefined || channel.confidence > (channels[known]?.confidence ?? 0))
      winner.set(channel.signal, index);
  });
  channels.forEach((channel, index) => {
    if (channel.signal === null || winner.get(channel.signal) === index) return;
    const better = channels[winner.get(channel.signal) ?? 0]?.header;
    const why = `"${better}" already carries ${channel.signal}`;
    decisions.push({ what: `channel "${channel.header}"`, value: 'not mapped', why });
    channels[index] = unmapped(channel.header, channel.sourceUnit, why);
  });
}

function scaleSpeed(channels: ChannelPlan[], factor: number | undefined, decisions: LogPlan['decisions']): void {
  if (factor === undefined || factor === 1) return;
  for (const channel of channels) {
    if (channel.signal !== 'vehicle_speed_kmh') continue;
    channel.scale *= factor;
    decisions.push({
      what: 'vehicle speed',
      value: `multiplied by ${factor}`,
      why: 'tyres or final drive differ from the recorder set-up',
    });
  }
}

export function unmapped(header: string, sourceUnit: string | null, why: string): ChannelPlan {
  return { header, sourceUnit, role: 'unmapped', signal: null, scale: 1, offset: 0, confidence: 0, why };
}
